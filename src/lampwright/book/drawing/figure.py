"""One view of a piece on the paper: ground, bases, tubes, strip, feeds and the person, without words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.book.drawing.sheet import FINE, MEDIUM, THICK, THIN, Point, Sheet, Style
from lampwright.book.drawing.subject import PERSON, MemberLine, StripLine, Subject
from lampwright.book.drawing.views import PLAN, View

Reals = NDArray[np.float64]

TUBE = Style(1.5, "#cfcfcf")
_SOCKET = Style(MEDIUM, "#000", "1 0.8")
_REACH = Style(THIN, "#000", "2 1")
_BODY = Style(THIN, "#777", fill="#e9e9e9")
_GROUND = Style(MEDIUM)
_SLAB = 1.2  # height at which a base is drawn from the side; the file states none [mm]
_HATCH, _HATCH_EVERY = 1.4, 3.0  # length of the ground's hatching and its spacing [mm]
_SAME = 1.0  # lines nearer than this lie on one another [mm]

# Told apart by dashes alone when printed in grey; colours that most colour-blind eyes tell apart: Okabe and Ito,
# Color Universal Design (2008) (from memory).
_DASHES = ("", "3 0.9", "3 0.8 0.5 0.8", "1 0.8", "5 0.8 0.5 0.8 0.5 0.8", "0.5 0.7")
_COLOURS = ("#0072b2", "#d55e00", "#009e73", "#a0447c", "#000000", "#b07800", "#3d8fc4")

# Outline of a standing person from the front, right half: share of the height from the crown down, and half the width
# at it over the height (from memory, round figures).
_OUTLINE = (
    (1.0, 0.0), (0.985, 0.032), (0.93, 0.045), (0.88, 0.03), (0.86, 0.03), (0.835, 0.1), (0.8, 0.125), (0.62, 0.115),
    (0.47, 0.14), (0.46, 0.1), (0.25, 0.085), (0.0, 0.07), (0.0, 0.02), (0.44, 0.012),
)  # fmt: skip


def circuit_style(number: int, width: float = THICK) -> Style:
    """Return the line of a circuit's strip: dashes and colour; they come around after 42 circuits, letters never."""
    return Style(width, _COLOURS[number % len(_COLOURS)], _DASHES[number % len(_DASHES)])


@dataclass(frozen=True)
class Alike:
    """Strips that lie on one another in a view: the nearest, the labels of all, and the line on the paper."""

    nearest: StripLine
    labels: tuple[str, ...]
    line: Reals  # (n, 2) [mm]


def draw_figure(sheet: Sheet, subject: Subject, view: View) -> None:
    """Draw what stands there."""
    if view.projection is not PLAN:
        _draw_person(sheet, subject.person, view)
    if view.projection.is_level:
        _draw_ground(sheet, subject, view)
    for member in subject.members:
        _draw_support(sheet, member, view)
    by_depth = sorted(subject.members, key=lambda each: view.projection.depth(each.points))
    for member in by_depth:
        sheet.line(_pairs(thinned(view.to_paper(member.points))), TUBE, member.member.name)
    for span in subject.spans if view.projection is not PLAN else ():
        sheet.line(_pairs(view.to_paper(np.stack([span.start, span.end]))), Style(FINE, "#000", "4 1 1 1"))
    for alike in reversed(strips_alike(subject, view)):
        strip = alike.nearest
        sheet.line(_pairs(alike.line), circuit_style(strip.circuit), f"{strip.label}: {strip.section.section.name}")
        _draw_arrow(sheet, alike.line)
    drawn: set[Point] = set()
    for feed in subject.feeds:
        x, y = view.at(feed.place)
        if (key := (round(x), round(y))) not in drawn:
            drawn.add(key)
            draw_feed(sheet, (x, y))


def strips_alike(subject: Subject, view: View) -> list[Alike]:
    """Return the strips grouped by their line on the paper, in the order of the piece."""
    groups: list[tuple[Reals, list[tuple[StripLine, Reals]]]] = []
    for strip in subject.strips:
        line = thinned(view.to_paper(strip.points))
        stations = _stations(line)
        for other, group in groups:
            if min(np.abs(stations - other).max(), np.abs(stations[::-1] - other).max()) < _SAME:
                group.append((strip, line))
                break
        else:
            groups.append((stations, [(strip, line)]))
    found = []
    for _, group in groups:
        nearest, line = max(group, key=lambda entry: view.projection.depth(entry[0].points))
        found.append(Alike(nearest, tuple(strip.label for strip, _ in group), line))
    return found


def thinned(line: Reals, within: float = 0.03) -> Reals:
    """Return a line with fewer points, none of the others farther from it than ``within``. [mm]

    Source: Ramer 1972, Douglas and Peucker 1973 (from memory).
    """
    keep = np.zeros(len(line), dtype=bool)
    keep[[0, -1]] = True
    waiting = [(0, len(line) - 1)]
    while waiting:
        first, last = waiting.pop()
        if last - first < 2:
            continue
        chord = line[last] - line[first]
        away = line[first + 1 : last] - line[first]
        # From the nearest point of the chord itself: a hoop seen from its side goes up and comes down on one line.
        share = np.clip(away @ chord / max(float(chord @ chord), 1e-12), 0.0, 1.0)
        # Rounded, so that of two points equally far off the last bit doesn't choose, nor change a drawing's hash.
        off = np.round(np.hypot(*(away - share[:, None] * chord).T), 6)
        worst = int(np.argmax(off))
        if off[worst] > within:
            middle = first + 1 + worst
            keep[middle] = True
            waiting += [(first, middle), (middle, last)]
    return line[keep]


def draw_feed(sheet: Sheet, at: Point) -> None:
    """Draw the sign of a feed: a black triangle that stands on its point."""
    x, y = at
    shape = [(x, y), (x - 1.0, y - 1.7), (x + 1.0, y - 1.7)]
    sheet.line(shape, Style(THIN, "#fff", fill="#000"), "feed", is_closed=True)


def draw_person_at(sheet: Sheet, foot: Point, height: float) -> None:
    """Draw a person seen from the front. [mm]"""
    x, y = foot
    right = [(x + half * height, y - share * height) for share, half in _OUTLINE]
    left = [(x - half * height, y - share * height) for share, half in reversed(_OUTLINE)]
    sheet.line([*right, *left], _BODY, f"person of {PERSON:g} m", is_closed=True)


def _draw_person(sheet: Sheet, place: Reals, view: View) -> None:
    x, y = view.at(place)
    head = view.at(place + np.array([0.0, 0.0, PERSON]))
    draw_person_at(sheet, (x, y), y - head[1])


def _draw_ground(sheet: Sheet, subject: Subject, view: View) -> None:
    """Draw the ground from beyond the person to beyond the piece."""
    outline = np.concatenate([view.to_paper(subject.outline()), view.to_paper(subject.person)])
    left, right = float(outline[:, 0].min()) - 5.0, float(outline[:, 0].max()) + 5.0
    y = view.at(np.zeros(3))[1]
    sheet.line([(left, y), (right, y)], _GROUND, "ground")
    for step in range(int((right - left) / _HATCH_EVERY)):
        x = left + (step + 0.6) * _HATCH_EVERY
        sheet.line([(x, y), (x - _HATCH, y + _HATCH)], Style(FINE))


def _draw_support(sheet: Sheet, line: MemberLine, view: View) -> None:
    support = line.member.support
    for foot in line.feet:
        if support.socket is not None and view.projection.is_level:
            down = np.stack([foot, foot - np.array([0.0, 0.0, support.socket])])
            sheet.line(_pairs(view.to_paper(down)), _SOCKET, f"socket of {line.member.name}")
        if support.base is not None:
            _draw_base(sheet, view, foot, support.base.reach, f"base of {line.member.name}")


def _draw_base(sheet: Sheet, view: View, foot: Reals, reach: float, title: str) -> None:
    """Draw how far a base reaches: from the side as a slab, else as a circle, since which way its legs lie is open."""
    if view.projection.is_level:
        x, y = view.at(foot)
        half = reach * view.scale
        slab = [(x - half, y), (x - half, y - _SLAB), (x + half, y - _SLAB), (x + half, y)]
        sheet.line(slab, Style(THIN, fill="#fff"), title, is_closed=True)
        return
    turn = np.linspace(0.0, math.tau, 49)
    circle = foot + reach * np.stack([np.cos(turn), np.sin(turn), np.zeros(49)], axis=1)
    sheet.line(_pairs(view.to_paper(circle)), _REACH, title)


def _draw_arrow(sheet: Sheet, line: Reals) -> None:
    """Draw which way the data goes, a quarter along the line."""
    steps = np.hypot(*np.diff(line, axis=0).T)
    whole = float(steps.sum())
    if whole < 8.0:
        return
    along = np.concatenate([[0.0], np.cumsum(steps)])
    tip, tail = (np.array([np.interp(at, along, line[:, i]) for i in (0, 1)]) for at in (whole / 4, whole / 4 - 2.2))
    ahead = (tip - tail) / max(float(np.hypot(*(tip - tail))), 1e-9)
    side = np.array([-ahead[1], ahead[0]])
    shape = np.stack([tip, tail + 0.8 * side, tail - 0.8 * side])
    sheet.line(_pairs(shape), Style(FINE, "#fff", fill="#000"), "way of the data", is_closed=True)


def _stations(line: Reals) -> Reals:
    """Return (5, 2) places at even distances along a line, by which lines that lie on one another are known. [mm]"""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    at = np.linspace(0.0, float(along[-1]), 5)
    return np.stack([np.interp(at, along, line[:, 0]), np.interp(at, along, line[:, 1])], axis=1)


def _pairs(line: Reals) -> Sequence[Point]:
    return [(float(x), float(y)) for x, y in line]


def lines_of(subject: Subject, view: View) -> Iterable[Reals]:
    """Yield the lines of members and strips on the paper. [mm]"""
    for member in subject.members:
        yield view.to_paper(member.points)
    for strip in subject.strips:
        yield thinned(view.to_paper(strip.points))
