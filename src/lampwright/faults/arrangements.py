"""The same piece arranged otherwise: what stays lit, how likely, and what it takes in money, mass and hours."""

from __future__ import annotations

import itertools
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from typing import Any

import numpy as np

from lampwright.faults.anatomy import HUB, Anatomy, Link, Segment
from lampwright.faults.circuit_odds import Chances
from lampwright.faults.cost import PASSING, single_outages
from lampwright.faults.every import Body, every_fault
from lampwright.faults.kinds import FaultKind
from lampwright.faults.odds import evening_chances, lit_pixel_odds, rates
from lampwright.parts import load_catalogue, mass_of, unit_price
from lampwright.piece.model import Circuit

OF_PACKS = (FaultKind.PACK_EMPTY, FaultKind.PACK_OFF, FaultKind.PACK_COLD)
"""Kinds that a second pack beside the first one covers."""

AS_WRITTEN = "as the piece file says"


@dataclass(frozen=True)
class Extra:
    """What an arrangement takes beyond the piece as written; negative where it takes less."""

    money: float  # by the catalogue's judged prices, in its currency
    mass: float  # [kg]
    hours: float


@dataclass(frozen=True)
class Variant:
    """A piece arranged otherwise, before it is weighed."""

    name: str
    body: Body
    extra: Extra
    has_pairs: bool = False
    """Each circuit has a second pack that takes over by itself."""


@dataclass(frozen=True)
class Arrangement:
    """A piece arranged otherwise, weighed. Shares are of pixels, since the number of circuits differs."""

    name: str
    lit_at_worst: float
    """Share of pixels lit after the worst single fault. [1]"""
    holds: float
    """Chance that the brief's share of pixels stays lit through the evening."""
    mean_lit: float
    """Share of pixels lit to the end, in the mean of all evenings."""
    extra: Extra
    gain: float | None
    """How much the chance rises for each unit of money; ``None`` where nothing is paid."""


def compare_arrangements(body: Body) -> tuple[Arrangement, ...]:
    """Return the piece as written, then the other arrangements, the best for each unit of money first.

    Those that cost nothing more stand behind those that do.
    """
    weighed = [_weigh(variant) for variant in variants(body)]
    own = weighed[0]
    gained = [
        replace(each, gain=(each.holds - own.holds) / each.extra.money if each.extra.money > 0 else None)
        for each in weighed[1:]
    ]
    return (own, *sorted(gained, key=lambda each: -(each.gain if each.gain is not None else -1e9)))


def variants(body: Body) -> Iterator[Variant]:
    """Yield the piece as written and each other arrangement that it allows."""
    yield Variant(AS_WRITTEN, body, Extra(0.0, 0.0, 0.0))
    n_circuit = len(body.anatomies)
    if n_circuit > 1:
        fewer = _sum(body, {"pack": 1.0 - n_circuit, "board": 1.0 - n_circuit})
        yield Variant("one pack and one board for all", _merged(body), fewer)
    if more := sum(len(_far_feeds(one)) for one in body.anatomies):
        fed = [replace(one, links=(*one.links, *_far_feeds(one))) for one in body.anatomies]
        yield Variant("every run fed at both ends", _with(body, fed), _sum(body, {"feed": more}))
    if not all(one.has_backup for one in body.anatomies):
        backed = [replace(one, has_backup=True) for one in body.anatomies]
        yield Variant("pixels with a second data line", _with(body, backed), _sum(body, {"backup": _metres(body)}))
    yield Variant("packs in pairs", body, _sum(body, {"pack": n_circuit}), has_pairs=True)
    if all(segment.n_pixel > 1 for one in body.anatomies for segment in one.segments):
        more_parts = {"pack": n_circuit, "board": n_circuit, "strip": _metres(body)}
        yield Variant("two strips of half density, a circuit each", _halved(body), _sum(body, more_parts))


def _weigh(variant: Variant) -> Arrangement:
    body = variant.body
    chances: Chances = evening_chances(body, rates())
    left_out: tuple[FaultKind, ...] = ()
    if variant.has_pairs:
        chances = {kind: p * p if kind in OF_PACKS else p for kind, p in chances.items()}
        left_out = OF_PACKS
    faults = [each for each in every_fault(body) if each.kind not in left_out and each.lasts > PASSING]
    worst = min(outage.pixels_lit for outage in single_outages(body, faults))
    lit = lit_pixel_odds(body, chances)
    needed = body.piece.brief.survive.lit * body.n_pixel
    holds = float(lit[np.arange(len(lit)) >= needed - 1e-9].sum())
    mean = float((lit * np.arange(len(lit))).sum()) / body.n_pixel
    return Arrangement(variant.name, worst, holds, mean, variant.extra, None)


def _with(body: Body, anatomies: list[Anatomy]) -> Body:
    offsets = (0, *itertools.accumulate(one.n_pixel for one in anatomies))
    return Body(body.piece, tuple(anatomies), offsets)


def _far_feeds(anatomy: Anatomy) -> tuple[Link, ...]:
    """Return a feed at the far end of each run that has only one."""
    return tuple(
        Link(f"feed of {name} at 100 %", HUB, run[-1] + 1, True)
        for name, run in zip(anatomy.run_names, anatomy.runs, strict=True)
        if sum(link.is_feed and link.end - 1 in run for link in anatomy.links) < 2
    )


def _merged(body: Body) -> Body:
    """Return all circuits as one: their runs side by side from one hub."""
    segments: list[Segment] = []
    links: list[Link] = []
    runs: list[tuple[int, ...]] = []
    names: list[str] = []
    for one, first in zip(body.anatomies, body.offsets, strict=False):
        here = len(segments)
        segments += [replace(each, run=each.run + len(runs), first=each.first + first) for each in one.segments]
        links += [
            replace(link, start=link.start + here if link.start else HUB, end=link.end + here) for link in one.links
        ]
        runs += [tuple(index + here for index in run) for run in one.runs]
        names += [f"{one.name} {name}" for name in one.run_names]
    backed = all(one.has_backup for one in body.anatomies)
    merged = Anatomy("all", body.n_pixel, tuple(segments), tuple(links), tuple(runs), tuple(names), backed)
    return _with(body, [merged])


def _halved(body: Body) -> Body:
    """Return each circuit as two of half the pixels along the same way."""
    circuits, anatomies = [], []
    for circuit, one in zip(body.piece.circuits, body.anatomies, strict=True):
        for half in (0, 1):
            circuits.append(circuit)
            segments, first = [], 0
            for each in one.segments:
                size = (each.n_pixel + 1 - half) // 2
                segments.append(replace(each, first=first, n_pixel=size))
                first += size
            anatomies.append(replace(one, name=f"{one.name} {'ab'[half]}", n_pixel=first, segments=tuple(segments)))
    return _with(replace(body, piece=replace(body.piece, circuits=tuple(circuits))), anatomies)


def _metres(body: Body) -> float:
    return sum(
        one.n_pixel / circuit.strip.density.value
        for circuit, one in zip(body.piece.circuits, body.anatomies, strict=True)
    )


@cache
def _rows() -> dict[str, dict[str, Any]]:
    text = resources.files("lampwright.faults").joinpath("arrangements.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _sum(body: Body, counts: Mapping[str, float]) -> Extra:
    """Return what so many more of each thing take; of packs and boards that differ, the mean."""
    money = mass = hours = 0.0
    for name, count in counts.items():
        circuits = body.piece.circuits
        for circuit in circuits:
            for part, amount in _takes(name, circuit).items():
                share = count * amount / len(circuits)
                money += share * (unit_price(part) or 0.0)
                mass += share * (mass_of(part) or 0.0)
        hours += count * float(_rows()[name]["hours"])
    return Extra(money, mass, hours)


def _takes(name: str, circuit: Circuit) -> Mapping[str, float]:
    """Return the parts that one more of a thing takes, and how many or how many metres of each."""
    match name:
        case "pack":
            return {circuit.pack.name: 1.0}
        case "board":
            return {circuit.board.name: 1.0}
        case "strip":
            same = [each for each in load_catalogue().strips.values() if each.pixel == circuit.strip.pixel]
            return {min(same, key=lambda each: each.density.value).name: 1.0}
    found: Mapping[str, float] = _rows()[name]["takes"]
    return found
