"""The same piece arranged otherwise: what stays lit, how likely, and what it takes in money, mass and hours."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from typing import Any

import numpy as np

from lampwright.faults.changes import changes
from lampwright.faults.circuit_odds import Chances
from lampwright.faults.cost import (
    PASSING,
    Outage,
    joint_outages,
    shared_outages,
    single_outages,
    smallest_breaks,
)
from lampwright.faults.every import Body, PieceFault, every_fault
from lampwright.faults.kinds import FaultKind, Rates
from lampwright.faults.odds import SWAPPED, evening_chances, lit_pixel_odds, rates
from lampwright.faults.showing import Damage
from lampwright.parts import load_catalogue, mass_of, unit_price
from lampwright.piece.model import Circuit

OF_PACKS = (FaultKind.PACK_EMPTY, FaultKind.PACK_OFF, FaultKind.PACK_COLD)
"""Kinds that a second pack beside the first one covers."""

MOST_SEARCHED = 3
"""Sets of up to so many faults are searched through."""

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
    has_spare: bool = False
    """A pack or supply and a board lie ready for the first circuit that goes out, and somebody swaps them."""


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
    broken_by: tuple[str, ...]
    """Faults, no more than the brief says, that leave fewer circuits lit than it demands; none: the demand is met."""
    extra: Extra
    gain: float | None
    """How much the chance rises for each unit of money; ``None`` where nothing is paid."""

    @property
    def is_enough(self) -> bool:
        """Whether it meets the brief's demand."""
        return not self.broken_by


def compare_arrangements(
    body: Body, others: Mapping[str, Body] | None = None, known: Rates | None = None
) -> tuple[Arrangement, ...]:
    """Return the piece as written, then the other arrangements, the best for each unit of money first.

    Those that cost nothing more stand behind those that do.

    Parameters
    ----------
    others
        Bodies of the maker's own variants by name, weighed beside the rest.
    known
        Rates; unless given, the judged ones.
    """
    known = rates() if known is None else known
    own = _weigh(Variant(AS_WRITTEN, body, Extra(0.0, 0.0, 0.0)), known)
    weighed = [_weigh(_own_variant(body, name, other), known) for name, other in (others or {}).items()]
    weighed += [_weigh(variant, known) for variant in variants(body)]
    gained = [
        replace(each, gain=(each.holds - own.holds) / each.extra.money if each.extra.money > 0 else None)
        for each in weighed
    ]
    return (own, *sorted(gained, key=lambda each: -(each.gain if each.gain is not None else -1e9)))


def cheapest_enough(compared: Sequence[Arrangement]) -> Arrangement | None:
    """Return the arrangement that meets the brief's demand for the least money, or none."""
    enough = [each for each in compared if each.is_enough]
    return min(enough, key=lambda each: (each.extra.money, each.extra.hours), default=None)


def variants(body: Body) -> Iterator[Variant]:
    """Yield each other arrangement that a piece allows."""
    for change in changes(body):
        extra = _sum(body, change.counts)
        yield Variant(change.name, change.apply(body), extra, change.has_pairs, change.has_spare)


def _own_variant(own: Body, name: str, other: Body) -> Variant:
    """Return a maker's own variant, with what it takes beyond the piece as written."""
    mine, theirs = _built(own), _built(other)
    extra = Extra(theirs.money - mine.money, theirs.mass - mine.mass, theirs.hours - mine.hours)
    return Variant(name, other, extra)


def _built(body: Body) -> Extra:
    """Return what packs or supplies, boards, feeds and strip of a whole piece take."""
    money = mass = hours = 0.0
    n_feed = sum(link.is_feed for one in body.anatomies for link in one.links)
    for circuit, one in zip(body.piece.circuits, body.anatomies, strict=True):
        length = one.n_pixel / circuit.strip.density.value
        for part, amount in (
            (circuit.source.name, circuit.bank.count),
            (circuit.board.name, 1.0),
            (circuit.strip.name, length),
        ):
            money += amount * (unit_price(part) or 0.0)
            mass += amount * (mass_of(part) or 0.0)
        hours += sum(float(_rows()[name]["hours"]) for name in ("pack", "board"))
        hours += length * float(_rows()["strip"]["hours"])
    fed = _sum(body, {"feed": n_feed})
    return Extra(money + fed.money, mass + fed.mass, hours + fed.hours)


def cheapest_variant(body: Body) -> Variant | None:
    """Return what :func:`cheapest_enough` would name of all variants, without their odds, or none."""
    by_money = sorted(variants(body), key=lambda variant: (variant.extra.money, variant.extra.hours))
    return next((each for each in by_money if not _broken_by(each, *_outages(each))), None)


def _weigh(variant: Variant, known: Rates) -> Arrangement:
    body = variant.body
    chances: Chances = evening_chances(body, known)
    if variant.has_pairs:
        chances = {kind: p * p if kind in OF_PACKS else p for kind, p in chances.items()}
    singles, faults = _outages(variant)
    worst = min((outage.pixels_lit for outage in singles), default=1.0)
    lit = lit_pixel_odds(body, chances, has_spare=variant.has_spare)
    needed = body.piece.brief.survive.lit * body.n_pixel
    holds = float(lit[np.arange(len(lit)) >= needed - 1e-9].sum())
    mean = float((lit * np.arange(len(lit))).sum()) / body.n_pixel
    broken = _broken_by(variant, singles, faults)
    return Arrangement(variant.name, worst, holds, mean, broken, variant.extra, None)


def _outages(variant: Variant) -> tuple[list[Outage], list[PieceFault]]:
    """Return what each lasting fault of a variant costs, and these faults."""
    left_out: tuple[FaultKind, ...] = OF_PACKS if variant.has_pairs else ()
    if variant.has_spare and variant.body.piece.brief.survive.failures <= 1:
        left_out += SWAPPED
    faults = [each for each in every_fault(variant.body) if each.kind not in left_out and each.lasts > PASSING]
    return single_outages(variant.body, faults), faults


def _broken_by(variant: Variant, singles: Sequence[Outage], faults: Sequence[PieceFault]) -> tuple[str, ...]:
    """Return faults, no more than the brief names, that leave too few circuits lit; empty where none do."""
    body, failures = variant.body, variant.body.piece.brief.survive.failures
    if failures > MOST_SEARCHED:
        return (f"more than {MOST_SEARCHED} faults aren't searched through",)
    outages = list(singles)
    if failures > 1:
        outages += joint_outages(body, faults) + shared_outages(body, singles)
        outages += _both_packs(body) if variant.has_pairs else []
    breaks = smallest_breaks(body, outages, most=failures) if failures else []
    return next((names for names in breaks if len(names) <= failures), ())


def _both_packs(body: Body) -> list[Outage]:
    """Return what two faults do that take both packs of a circuit."""
    pairs = []
    for number, one in enumerate(body.anatomies):
        names = f"{one.name}: the pack is empty; {one.name}: its second pack is empty"
        (outage,) = single_outages(
            body, [PieceFault(FaultKind.PACK_EMPTY, one.name, {number: Damage(is_unpowered=True)}, math.inf)]
        )
        pairs.append(replace(outage, names=(names,)))
    return pairs


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
            return {circuit.source.name: 1.0}
        case "board":
            return {circuit.board.name: 1.0}
        case "strip":
            same = [each for each in load_catalogue().strips.values() if each.pixel == circuit.strip.pixel]
            return {min(same, key=lambda each: each.density.value).name: 1.0}
    found: Mapping[str, float] = _rows()[name]["takes"]
    return found
