"""Every single fault of a piece, from its own description."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from lampwright.faults.anatomy import Anatomy, Segment, place_before, place_within, take_apart
from lampwright.faults.kinds import FaultKind, Place, all_kinds
from lampwright.faults.showing import Damage, Shown, what_shows
from lampwright.layout.model import Layout
from lampwright.piece.model import Circuit, Piece
from lampwright.power.pack import cold_share

COLDER_BY = 10.0
"""A cold pack is so much colder than the brief's coldest (our choice). [K]"""

UNPOWERS = (
    FaultKind.PACK_EMPTY,
    FaultKind.PACK_OFF,
    FaultKind.PACK_COLD,
    FaultKind.PLUG_OUT,
    FaultKind.CABLE_BROKEN,
    FaultKind.RAIL_SHORT,
    FaultKind.LEFT_OFF,
    FaultKind.SWITCHED_LATE,
    FaultKind.FUSE_BLOWN,
    FaultKind.SUPPLY_DEAD,
    FaultKind.SUPPLY_CABLE,
)
"""Kinds that leave a whole circuit without power; :func:`unpowers` tells which of them it can have."""

ONLY_PACKS = (FaultKind.PACK_EMPTY, FaultKind.PACK_OFF, FaultKind.PACK_COLD, FaultKind.CABLE_BROKEN)
"""Kinds that only a circuit on packs has."""

ONLY_SUPPLIES = (FaultKind.SUPPLY_DEAD, FaultKind.SUPPLY_CABLE)
"""Kinds that only a circuit on a supply has."""

OF_ONE_PACK = (FaultKind.PACK_EMPTY, FaultKind.PACK_OFF)
"""Kinds that strike one pack of several; the cold strikes all of them."""

SILENCES = (FaultKind.BOARD_DEAD, FaultKind.BOARD_HUNG, FaultKind.BOARD_RESET)
"""Kinds that leave a whole circuit without new frames."""


@dataclass(frozen=True)
class Body:
    """A piece as faults see it."""

    piece: Piece
    anatomies: tuple[Anatomy, ...]
    offsets: tuple[int, ...]
    """The first pixel of each circuit within the piece, and the number of pixels at the end."""

    @property
    def n_pixel(self) -> int:
        """Pixels of the piece."""
        return self.offsets[-1]


@dataclass(frozen=True)
class PieceFault:
    """One thing that can go wrong."""

    kind: FaultKind
    subject: str
    """Such as "arch 2", or "arch 2, hoop pixel 17"."""
    damages: Mapping[int, Damage]
    """What is broken in which circuit, by its number."""
    lasts: float
    """Until it mends itself; ``inf``: not this evening. [s]"""
    place: Place | None = None
    """Where on its run, of kinds that come at a place."""

    @property
    def name(self) -> str:
        """Such as "arch 2: a plug is out"."""
        return f"{self.subject}: {all_kinds()[self.kind].title}"


def embody(layout: Layout) -> Body:
    """Return a piece as faults see it."""
    anatomies = tuple(take_apart(circuit) for circuit in layout.circuits)
    offsets = np.concatenate([[0], np.cumsum([one.n_pixel for one in anatomies])])
    return Body(layout.piece, anatomies, tuple(int(each) for each in offsets))


def show_damage(body: Body, damages: Mapping[int, Damage]) -> Shown:
    """Return the (n_pixel,) masks of the whole piece."""
    masks = [np.zeros(body.n_pixel, bool) for _ in range(3)]
    for number, damage in damages.items():
        part = what_shows(body.anatomies[number], damage)
        here = slice(body.offsets[number], body.offsets[number + 1])
        for mask, of_part in zip(masks, (part.dark, part.frozen, part.wrong), strict=True):
            mask[here] = of_part
    return Shown(*masks)


def join_damages(one: Mapping[int, Damage], other: Mapping[int, Damage]) -> dict[int, Damage]:
    """Return what is broken when both have happened."""
    return {number: one.get(number, Damage()) | other.get(number, Damage()) for number in {*one, *other}}


def every_fault(body: Body) -> tuple[PieceFault, ...]:
    """Return every single fault: of each circuit, each link, each data line, each pixel, each span, each member."""
    found = [fault for number in range(len(body.anatomies)) for fault in _of_circuit(body, number)]
    return (*found, *_of_outlets(body), *_of_members(body))


def damage_of_member(body: Body, name: str) -> dict[int, Damage]:
    """Return what is broken when a member is down: what hangs on it is torn, whose home it is loses its power."""
    damages = {}
    for number, anatomy in enumerate(body.anatomies):
        if anatomy.home == name:
            damages[number] = Damage(is_unpowered=True)
        elif torn := frozenset(i for i, segment in enumerate(anatomy.segments) if name in segment.members):
            damages[number] = Damage(torn=torn)
    return damages


def unpowers(anatomy: Anatomy) -> tuple[FaultKind, ...]:
    """Return the kinds that can leave this circuit alone without power."""
    others = ONLY_SUPPLIES if not anatomy.outlet else ONLY_PACKS
    return tuple(kind for kind in UNPOWERS if kind not in others)


def _of_outlets(body: Body) -> Iterator[PieceFault]:
    """Yield the loss of each mains outlet, which takes every circuit whose supply hangs on it."""
    lasts = all_kinds()[FaultKind.OUTLET_OFF].lasts
    for outlet in dict.fromkeys(one.outlet for one in body.anatomies if one.outlet):
        on_it = {n: Damage(is_unpowered=True) for n, one in enumerate(body.anatomies) if one.outlet == outlet}
        yield PieceFault(FaultKind.OUTLET_OFF, f'outlet "{outlet}"', on_it, lasts)


def _of_members(body: Body) -> Iterator[PieceFault]:
    lasts = all_kinds()[FaultKind.POST_DOWN].lasts
    for member in body.piece.members:
        if damages := damage_of_member(body, member.name):
            yield PieceFault(FaultKind.POST_DOWN, member.name, damages, lasts)


def _of_circuit(body: Body, number: int) -> Iterator[PieceFault]:
    anatomy, circuit = body.anatomies[number], body.piece.circuits[number]
    for kind, where, damage, place in parts_of_circuit(anatomy):
        subject = f"{anatomy.name}, {where}" if where else anatomy.name
        yield PieceFault(kind, subject, {number: damage}, lasts_of(kind, circuit, body.piece), place)


def parts_of_circuit(anatomy: Anatomy) -> Iterator[tuple[FaultKind, str, Damage, Place | None]]:
    """Yield each fault within one circuit: kind, where, damage, place. Members and outlets are left to the piece."""
    for kind, where, damage in _of_power(anatomy):
        yield kind, where, damage, None
    for number, link in enumerate(anatomy.links):
        broken = Damage(links=frozenset({number}))
        if link.is_feed:
            yield FaultKind.FEED_OPEN, link.name, broken, None
        else:
            yield FaultKind.RAIL_OPEN, link.name, broken, place_before(anatomy, link.end - 1)
        if link.is_fused:
            yield FaultKind.FUSE_BLOWN, link.name, broken, None
    yield from _of_data(anatomy)
    for name, torn in spans(anatomy).items():
        yield FaultKind.SPAN_TORN, name, Damage(torn=torn), None
    for run, segments in enumerate(anatomy.runs):
        head = anatomy.segments[segments[0]].first
        for segment in (anatomy.segments[index] for index in segments):
            for pixel in range(segment.first, segment.first + segment.n_pixel):
                where = f"{anatomy.run_names[run]} pixel {pixel - head}"
                yield FaultKind.PIXEL_DEAD, where, Damage(dead=frozenset({pixel})), place_within(segment)


def _of_power(anatomy: Anatomy) -> Iterator[tuple[FaultKind, str, Damage]]:
    """Yield what takes a whole circuit, or one of its packs."""
    for kind in unpowers(anatomy):
        if kind in OF_ONE_PACK and anatomy.n_pack > 1:
            for pack in range(anatomy.n_pack):
                yield kind, f"pack {pack + 1}", Damage(packs=frozenset({pack}))
        else:
            yield kind, "", Damage(is_unpowered=True)
    for kind in SILENCES:
        yield kind, "", Damage(is_silent=True)
    if anatomy.has_board_fuse:
        yield FaultKind.FUSE_BLOWN, "board's supply", Damage(is_silent=True)


def _of_data(anatomy: Anatomy) -> Iterator[tuple[FaultKind, str, Damage, Place]]:
    """Yield what stops or spoils the data of each run, in its order."""
    for run, segments in enumerate(anatomy.runs):
        for position, index in enumerate(segments):
            segment = anatomy.segments[index]
            where, place = f"{anatomy.run_names[run]} before {segment.section}", place_before(anatomy, index)
            if position == 0:
                where = f"head of {anatomy.run_names[run]}"
            else:
                yield FaultKind.WET_JOINT, where, Damage(spoiled=frozenset({segment.first})), place
            yield FaultKind.DATA_OPEN, where, Damage(breaks=frozenset({segment.first})), place
        if anatomy.has_far_data:
            tail = anatomy.segments[segments[-1]]
            end = Damage(breaks=frozenset({tail.first + tail.n_pixel}))
            yield FaultKind.DATA_OPEN, f"far end of {anatomy.run_names[run]}", end, Place.HEAD


def spans(anatomy: Anatomy) -> dict[str, frozenset[int]]:
    """Return the segments of each span; one that hangs with joints in it comes off as a whole."""
    found: dict[tuple[int, str], set[int]] = {}
    for number, segment in enumerate(anatomy.segments):
        if segment.is_span:
            found.setdefault((segment.run, segment.section), set()).add(number)
    return {f"{anatomy.run_names[run]}, {name}": frozenset(torn) for (run, name), torn in found.items()}


def stretches(anatomy: Anatomy) -> tuple[Segment, ...]:
    """Return the first segment of each section: one for every span and fixed stretch of strip."""
    firsts: dict[tuple[int, str], Segment] = {}
    for segment in anatomy.segments:
        firsts.setdefault((segment.run, segment.section), segment)
    return tuple(firsts.values())


def lasts_of(kind: FaultKind, circuit: Circuit, piece: Piece) -> float:
    """Return how long a fault lasts. A cold pack ends the evening early by what the cold takes. [s]"""
    if kind is not FaultKind.PACK_COLD:
        return all_kinds()[kind].lasts
    coldest = piece.brief.coldest
    share = cold_share(circuit.pack, coldest - COLDER_BY) / cold_share(circuit.pack, coldest)
    return (1.0 - share) * piece.brief.run_time
