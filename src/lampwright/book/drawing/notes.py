"""What is written into a view: dimensions, then labels of sections, packs, members and spans."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lampwright.book.drawing.dimensions import millimetres
from lampwright.book.drawing.figure import lines_of, strips_alike
from lampwright.book.drawing.measures import write_dimensions
from lampwright.book.drawing.placing import nearest_edge, place_label, sampled
from lampwright.book.drawing.sheet import FINE, HEADING, TEXT, Point, Sheet, Style, text_width
from lampwright.book.drawing.subject import MemberLine, SpanLine, Subject, letter
from lampwright.book.drawing.views import ISOMETRIC, PLAN, View

Reals = NDArray[np.float64]

_NAMED = 3  # labels that lie on one another are all named up to this many, else the first and the last
_SHARES = (0.5, 0.35, 0.65, 0.2, 0.8)  # along a section, where its label may point
_LEADER = Style(FINE)


def write_notes(sheet: Sheet, subject: Subject, view: View) -> int:
    """Write dimensions and labels into a view; return how many figures and names found no room."""
    lines = sampled(list(lines_of(subject, view)))
    sheet.text((view.cell.left, view.cell.top + HEADING), view.projection.title, HEADING, bold=True)
    missing = 0
    if view.projection is not ISOMETRIC:
        missing += write_dimensions(sheet, subject, view)
        missing += _spans(sheet, subject, view, lines)
    _sections(sheet, subject, view, lines)
    _packs(sheet, subject, view, lines)
    if view.projection is PLAN:
        missing += _members(sheet, subject, view, lines)
    return missing


def _sections(sheet: Sheet, subject: Subject, view: View, lines: Reals) -> None:
    """Letter and number of every section; those that lie on one another in one label."""
    for alike in strips_alike(subject, view):
        length = float(np.hypot(*np.diff(alike.line, axis=0).T).sum())
        if length < 3.0 and view.projection is not ISOMETRIC:
            continue
        _label(sheet, _along(alike.line), _joined(alike.labels), True, view, lines)


def _packs(sheet: Sheet, subject: Subject, view: View, lines: Reals) -> None:
    groups: dict[tuple[int, int], tuple[Point, list[str]]] = {}
    for pack in subject.packs:
        x, y = view.at(pack.place)
        groups.setdefault((round(x), round(y)), ((x, y), []))[1].append(letter(pack.circuit))
    for point, letters in groups.values():
        _label(sheet, [point], _joined(letters), False, view, lines)


def _label(sheet: Sheet, points: Sequence[Point], text: str, is_round: bool, view: View, lines: Reals) -> None:
    size = (max(4.0, text_width(text, TEXT) + 1.6), 3.8)
    # Where lines cross, a label that is far off or covers one leads astray; the other views name it too.
    is_askew = view.projection is ISOMETRIC
    placed = place_label(sheet, points, size, view.cell, lines, 9.5 if is_askew else 26.0, is_askew)
    if placed is None:
        return
    box, point = placed
    sheet.line([point, nearest_edge(box, point)], _LEADER)
    sheet.framed(box, text, is_round)


def _members(sheet: Sheet, subject: Subject, view: View, lines: Reals) -> int:
    """Names of members at their feet; where those of a pattern stand close, the first's and the last's alone."""
    patterns: dict[str, list[MemberLine]] = {}
    for member in subject.members:
        patterns.setdefault(member.member.name.rstrip("0123456789"), []).append(member)
    missing = 0
    for alike in patterns.values():
        widest = max(text_width(each.member.name, TEXT) for each in alike)
        gaps = [np.hypot(*np.subtract(view.at(a.feet[0]), view.at(b.feet[0]))) for a, b in pairwise(alike)]
        is_close = min(gaps, default=widest + 2.0) < widest + 1.5
        for member in (alike[0], alike[-1]) if is_close and len(alike) > 2 else alike:
            points = [view.at(foot) for foot in member.feet]
            missing += not _write_near(sheet, points, member.member.name, view, lines, 12.5)
    return missing


def _write_near(sheet: Sheet, points: Sequence[Point], text: str, view: View, lines: Reals, most: float) -> bool:
    """Write a text near one of these points, with a leader where it stands off; return whether there was room."""
    placed = place_label(sheet, points, (text_width(text, TEXT) + 0.4, 3.0), view.cell, lines, most)
    if placed is None:
        return False
    box, point = placed
    edge = nearest_edge(box, point)
    if np.hypot(edge[0] - point[0], edge[1] - point[1]) > 4.0:
        sheet.line([point, edge], _LEADER)
    sheet.text((box.centre[0], box.bottom - 0.8), text, TEXT, "middle")
    return True


def _spans(sheet: Sheet, subject: Subject, view: View, lines: Reals) -> int:
    """Span and sag, once for all spans alike, in the view that shows them broadest."""
    groups: dict[tuple[str, str], list[SpanLine]] = {}
    for span in subject.spans:
        groups.setdefault((millimetres(span.width), millimetres(span.sag)), []).append(span)
    missing = 0
    for (width, sag), spans in groups.items():
        run = np.sum([np.abs(span.end - span.start) for span in spans], axis=0)
        axis = 0 if run[0] >= run[1] else 1
        if not view.projection.is_level or view.projection.right[axis] == 0:
            continue
        count = f"{len(spans)} × " if len(spans) > 1 else ""
        points = [view.at(span.low) for span in spans]
        missing += not _write_near(sheet, points, f"{count}span {width}, sag {sag}", view, lines, 26.0)
    return missing


def _along(line: Reals) -> list[Point]:
    steps = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    at = [share * float(steps[-1]) for share in _SHARES]
    return [(float(np.interp(a, steps, line[:, 0])), float(np.interp(a, steps, line[:, 1]))) for a in at]


def _joined(labels: Sequence[str]) -> str:
    return ", ".join(labels) if len(labels) <= _NAMED else f"{labels[0]} … {labels[-1]}"
