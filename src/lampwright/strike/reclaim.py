"""What is left of a piece: good stretches of strip, parts that lived, and what goes to the bin."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from lampwright.layout import CircuitLayout, Layout, RunLayout, bent_tube
from lampwright.layout.transitions import transitions
from lampwright.parts import mass_of, unit_price
from lampwright.piece.model import Cable, Member
from lampwright.piece.path import path_length
from lampwright.rigging.spans import rig_spans
from lampwright.stock import NewLot
from lampwright.strike.form import FormFailure, FormRow, sources_of

LEAST_USEFUL = 10
"""Pixels; a shorter stretch isn't worth two joints (our choice)."""

WORTH = {"good": 0.6, "untested": 0.3, "worn": 0.3}
"""What a part is worth after a show, as a share of its price (our choice)."""

UNTESTED = frozenset({"flat", "flat from cold", "restarted", "hung", "leaned or fell", "out"})
"""Ways to fail after which a thing may be whole: it is tested before it is used again."""

WHOLE = frozenset({"switched itself off", "not switched on", "late", "slipped tie", "tape let go", "torn sleeve"})
"""Ways to fail that leave the thing itself as good as before."""


@dataclass(frozen=True)
class Reclaimed:
    """What goes back on the shelf, and what doesn't."""

    lots: tuple[NewLot, ...]
    waste: float
    """Of all whose mass is known. [kg]"""
    spent: float
    """What the parts of the piece cost, by the catalogue's prices, in whole units of its currency."""
    came_back: float
    """What those on the shelf are worth now, likewise."""

    @property
    def net(self) -> float:
        """What the show cost in parts."""
        return self.spent - self.came_back


@dataclass(frozen=True)
class _Thing:
    """A part of the piece after the show: its amount is a count, or metres where it is cut."""

    part: str
    amount: float
    lot: NewLot | None


def reclaim(layout: Layout, failures: Sequence[FormFailure], nights: int) -> Reclaimed:
    """Return what is left of a piece that has stood for so many nights."""
    things = list(_things(layout, failures, nights))
    spent = sum(thing.amount * (unit_price(thing.part) or 0.0) for thing in things)
    back = sum(
        thing.amount * (unit_price(thing.part) or 0.0) * WORTH[thing.lot.condition] for thing in things if thing.lot
    )
    waste = sum(thing.amount * (mass_of(thing.part) or 0.0) for thing in things if thing.lot is None)
    origin = layout.piece.brief.name
    lots = _together(replace(thing.lot, origin=origin) for thing in things if thing.lot is not None)
    return Reclaimed(lots, waste, spent, back)


def _together(lots: Iterator[NewLot]) -> tuple[NewLot, ...]:
    """Return lots with those that are alike in all but their count made one."""
    counts: dict[NewLot, int] = {}
    for lot in lots:
        alike = replace(lot, count=1)
        counts[alike] = counts.get(alike, 0) + lot.count
    return tuple(replace(lot, count=count) for lot, count in counts.items())


def _things(layout: Layout, failures: Sequence[FormFailure], nights: int) -> Iterator[_Thing]:
    for circuit in layout.circuits:
        name, part = circuit.circuit.name, circuit.circuit
        failed = [each for each in failures if each.row.circuit == name]
        for thing in sources_of(part):
            ways = frozenset(each.failure.how for each in failed if each.row.thing == thing)
            cycles = None if part.is_on_mains else float(nights)
            yield _whole(part.source.name, ways, f"of {name}", cycles=cycles)
        yield _whole(part.board.name, _ways(failed, "board"), f"of {name}")
        lead_ways = _ways(failed, "supply lead" if part.is_on_mains else "lead")
        yield from _wires(part.wiring.lead, lead_ways)
        for run in circuit.runs:
            for feed in run.run.feeds:
                yield from _wires(feed.cable, frozenset())
            yield from _strip(circuit, run, [each for each in failed if each.row.run == run.run.name])
    for member in layout.piece.members:
        yield from _member(member, [each for each in failures if each.row.thing == member.name])
    for span in rig_spans(layout):
        torn = any(
            each.row.circuit == span.circuit and each.row.sort == "span" and span.section.name in each.row.thing
            for each in failures
        )
        cord = span.cord.name
        # the spans of a row are alike up to rounding
        length = math.floor(1000 * span.length) / 1000
        lot = None if torn else NewLot(cord, length=length, condition="worn", note="knotted and loaded")
        yield _Thing(cord, span.length, lot)


def _ways(failed: Sequence[FormFailure], sort: str) -> frozenset[str]:
    return frozenset(each.failure.how for each in failed if each.row.sort == sort)


def _whole(part: str, ways: frozenset[str], note: str, cycles: float | None = None) -> _Thing:
    """Return a part that isn't cut, by how it failed."""
    if ways - WHOLE - UNTESTED:
        return _Thing(part, 1.0, None)
    condition = "untested" if ways & UNTESTED else "good"
    said = f"{note}: {', '.join(sorted(ways))}" if ways else note
    return _Thing(part, 1.0, NewLot(part, condition=condition, note=said, cycles=cycles))


def _wires(cable: Cable, ways: frozenset[str]) -> Iterator[_Thing]:
    if cable.length > 0:
        for colour in ("red", "black"):
            part = f"{cable.wire.name} {colour}"
            lot = None if ways - WHOLE else NewLot(part, length=cable.length)
            yield _Thing(part, cable.length, lot)


def _member(member: Member, failed: Sequence[FormFailure]) -> Iterator[_Thing]:
    """Yield a member's tube, bent as it is: it serves again for the same shape, or its straight ends do."""
    tube = "tube" if member.support.tube is None else member.support.tube.name  # as the cut plan calls it
    length = path_length(member.shape)
    ways = frozenset(each.failure.how for each in failed)
    if "bent" in ways:
        yield _Thing(tube, length, None)
        return
    form = bent_tube(member.shape)
    condition, note = "untested" if ways else "good", _photos(failed).removeprefix("; ")
    lot = NewLot(tube, length=length, condition=condition, note=note, bent="" if form is None else form.text)
    yield _Thing(tube, length, lot)


def _strip(circuit: CircuitLayout, run: RunLayout, failed: Sequence[FormFailure]) -> Iterator[_Thing]:
    """Yield the good stretches of a run's strip, and what is lost of it."""
    strip = run.run.strip
    pitch = 1.0 / strip.density.value
    stretches = list(good_stretches(circuit, run, failed))
    for stretch in stretches:
        size = stretch.end - stretch.first
        note = f"{circuit.circuit.name} {run.run.name}, pixels {stretch.first} to {stretch.end - 1}"
        note += _photos([each for each in failed if _is_beside(each, stretch.first, stretch.end)])
        lot = NewLot(
            strip.name,
            length=size * pitch,
            condition=stretch.condition,
            note=note,
            joints=stretch.joints,
            sleeve=stretch.sleeve,
        )
        yield _Thing(strip.name, size * pitch, lot)
    lost = run.n_pixel - sum(stretch.end - stretch.first for stretch in stretches)
    if lost:
        yield _Thing(strip.name, lost * pitch, None)


def _photos(failed: Sequence[FormFailure]) -> str:
    """Return what a lot's history says of photos; nothing where there is none."""
    names = dict.fromkeys(each.failure.photo for each in failed if each.failure.photo)
    return f"; photo {', '.join(names)}" if names else ""


def _is_beside(failed: FormFailure, first: int, end: int) -> bool:
    """Return whether strip failed within a stretch, or at the pixel before or after it."""
    return _touches(failed.row, first, end) if failed.pixel is None else first - 1 <= failed.pixel <= end


@dataclass(frozen=True)
class Stretch:
    """Pixels of a run that are good, from ``first`` to before ``end``."""

    first: int
    end: int
    condition: str
    joints: int
    sleeve: str


def good_stretches(circuit: CircuitLayout, run: RunLayout, failed: Sequence[FormFailure]) -> Iterator[Stretch]:
    """Yield what is left of a run's strip, cut between pixels, from its head.

    A failed pixel, and the one at a place that parted, was crushed or got wet, is cut out. Strip that failed at a place
    which nobody wrote down has to be tested before it is used again.
    """
    lost = {each.pixel for each in failed if each.pixel is not None and each.failure.how not in WHOLE}
    cuts = {each.pixel for each in transitions(circuit) if each.run == run.run.name and each.is_cut}
    joints = {round(joint.at * run.n_pixel) for joint in run.run.joints}
    unsure = [each.row for each in failed if each.pixel is None and each.failure.how not in WHOLE]
    torn = [each.row for each in failed if each.failure.how == "torn sleeve"]
    ends = sorted({0, run.n_pixel} | cuts | lost | {pixel + 1 for pixel in lost})
    for first, end in pairwise(ends):
        if first in lost or end - first < LEAST_USEFUL:
            continue
        is_unsure, is_torn = (any(_touches(row, first, end) for row in rows) for rows in (unsure, torn))
        condition = "untested" if is_unsure else "worn" if is_torn else "good"
        inside = sum(first < joint < end for joint in joints)
        yield Stretch(first, end, condition, inside, "torn" if is_torn else "")


def _touches(row: FormRow, first: int, end: int) -> bool:
    return row.first < end and row.first + row.n_pixel > first
