"""What a drawing shows of a piece, in metres: members, strip, spans, feeds, packs, and the person beside it."""

from __future__ import annotations

import string
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.catenary import hang
from lampwright.layout.member import anchor_place, points_along
from lampwright.layout.model import CircuitLayout, Layout, RunLayout, SectionLayout
from lampwright.piece.model import Member, SpanSection
from lampwright.piece.path import path_length

Reals = NDArray[np.float64]

PERSON = 1.75
"""Height of the person drawn for scale. [m]"""
ASIDE = 0.7
"""How far the person stands from the piece. [m]"""
_STEPS = 96  # along a member's path


@dataclass(frozen=True)
class MemberLine:
    """A member's centre line and where it stands."""

    member: Member
    points: Reals  # (n, 3) from its path's start to its end [m]
    feet: tuple[Reals, ...]  # (3,) each [m]


@dataclass(frozen=True)
class StripLine:
    """One section's strip, in the direction of the data."""

    label: str
    """Circuit's letter and the section's number within the circuit, such as "B2"."""
    circuit: int
    run: RunLayout
    section: SectionLayout
    points: Reals  # (n, 3), n at least 2 [m]


@dataclass(frozen=True)
class SpanLine:
    """A span's chord and how far it hangs."""

    label: str
    start: Reals  # (3,) [m]
    end: Reals  # (3,) [m]
    low: Reals  # (3,) the curve's point under the middle of the chord [m]
    lowest: float  # height of its lowest point [m]
    width: float  # between the ends, over the ground [m]
    sag: float  # [m]


@dataclass(frozen=True)
class Mark:
    """A feed or a pack."""

    circuit: int
    place: Reals  # (3,) [m]


@dataclass(frozen=True)
class Subject:
    """All that is drawn."""

    members: tuple[MemberLine, ...]
    strips: tuple[StripLine, ...]
    spans: tuple[SpanLine, ...]
    feeds: tuple[Mark, ...]
    packs: tuple[Mark, ...]
    """Each at the head of its circuit's first run: the piece file does not say where it lies."""
    person: Reals  # (3,) where a person stands [m]

    def outline(self) -> Reals:
        """Return the (n, 3) points of members and strip, by which the piece is measured. [m]"""
        return np.concatenate([*(each.points for each in self.members), *(each.points for each in self.strips)])


def subject_of(layout: Layout) -> Subject:
    """Return what is to be drawn of a piece."""
    members = tuple(_member_line(member) for member in layout.piece.members)
    strips: list[StripLine] = []
    spans: list[SpanLine] = []
    feeds: list[Mark] = []
    packs: list[Mark] = []
    for number, circuit in enumerate(layout.circuits):
        own = list(_strip_lines(number, circuit))
        strips += own
        spans += [
            _span_line(each, each.section.section) for each in own if isinstance(each.section.section, SpanSection)
        ]
        feeds += [Mark(number, place) for place in _feed_places(circuit)]
        packs.append(Mark(number, circuit.xyz[0]))
    drawn = np.concatenate([*(each.points for each in members), *(each.points for each in strips)])
    reach = max((member.member.support.base.reach for member in members if member.member.support.base), default=0.0)
    aside = drawn.min(axis=0) - ASIDE - reach
    return Subject(members, tuple(strips), tuple(spans), tuple(feeds), tuple(packs), np.array([*aside[:2], 0.0]))


def letter(number: int) -> str:
    """Return a circuit's letter: A to Z, then AA, AB and so on."""
    name = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        name = string.ascii_uppercase[rest] + name
    return name


def _member_line(member: Member) -> MemberLine:
    whole = path_length(member.shape)
    points = points_along(member, np.linspace(0.0, whole, _STEPS + 1))
    # A path that comes down again to where it began stands on two feet.
    is_level = abs(float(points[-1, 2] - points[0, 2])) < 1e-3
    return MemberLine(member, points, (points[0], points[-1]) if is_level else (points[0],))


def _strip_lines(number: int, circuit: CircuitLayout) -> Iterator[StripLine]:
    counted = 0
    for run in circuit.runs:
        for section in run.sections:
            counted += 1
            pixels = circuit.xyz[section.first : section.first + section.n_pixel]
            label = f"{letter(number)}{counted}"
            yield StripLine(label, number, run, section, _with_ends(pixels, 1.0 / run.run.strip.density.value))


def _with_ends(pixels: Reals, pitch: float) -> Reals:
    """Return the strip from cut mark to cut mark: half a pitch beyond the first and the last pixel."""
    if len(pixels) == 1:
        half = np.array([0.0, 0.0, pitch / 2])
        return np.stack([pixels[0] - half, pixels[0] + half])
    before, after = (pixels[0] - pixels[1]) / 2, (pixels[-1] - pixels[-2]) / 2
    return np.concatenate([[pixels[0] + before], pixels, [pixels[-1] + after]])


def _span_line(strip: StripLine, span: SpanSection) -> SpanLine:
    start, end = anchor_place(span.start), anchor_place(span.end)
    width, rise = float(np.hypot(*(end - start)[:2])), float(end[2] - start[2])
    curve = hang(width, rise, span.sag)
    distances = np.linspace(0.0, float(curve.length), 201)
    lowest = float(start[2] + curve.points(distances)[1].min())
    low = (start + end) / 2 - np.array([0.0, 0.0, span.sag])
    return SpanLine(strip.label, start, end, low, lowest, width, span.sag)


def _feed_places(circuit: CircuitLayout) -> Iterable[Reals]:
    for run in circuit.runs:
        for feed in run.run.feeds:
            pixel = run.first + min(run.n_pixel - 1, round(feed.at * run.n_pixel))
            yield circuit.xyz[pixel]


def distinct(values: Iterable[float]) -> tuple[float, ...]:
    """Return values in rising order, those that differ by less than half a millimetre once. [m]"""
    ordered = sorted(values)
    kept = ordered[:1]
    kept += [later for earlier, later in pairwise(ordered) if later - earlier > 0.0005]
    return tuple(kept)
