"""The feeds that keep a run's voltage at the least cost: how many, where, and by which wire each.

Feeds may stand where the piece file has them and at quarters of the run. A cable to a new place goes along the run from
where the run's first feed comes from. A feed costs its wire, by the metre, and its work. Every choice of places and
wires is covered, most of them without being tried:

- a wire that costs no less than another, and neither conducts nor carries more, is left out;
- a choice of places whose work and cheapest wire cost no less than the best plan so far is left out;
- so is any choice that fails with the strongest wire for all feeds that are still open: thicker wire from the same
  point never lowers a supply by enough to matter, and takes load off the others, which the tests hold against trying
  all.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.model import CircuitLayout, RunLayout
from lampwright.parts import load_catalogue, unit_price
from lampwright.parts.model import Wire
from lampwright.piece.model import Cable, Feed, Origin, head_feed
from lampwright.power.fuse import carried_behind_fuse, circuit_fuse
from lampwright.power.network import copper_factor
from lampwright.power.solve import Rails
from lampwright.power.wiring import feed_name, run_length, wire_up

PLACES = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Shares of a run where a feed may stand besides those of the piece file (our choice)."""

SAME_PLACE = 0.03
"""A share of a run this near to a feed of the piece file is no other place (our choice)."""

FEED_WORK = 10.0
"""What making one feed costs besides its wire: half an hour at 20 an hour (judgement), in the catalogue's currency."""


@dataclass(frozen=True)
class PricedWire:
    """A wire and what a metre of one conductor costs, in the catalogue's currency."""

    wire: Wire
    price: float

    @property
    def carries(self) -> float:
        """What it may carry behind a standard fuse that protects it. [A]"""
        return carried_behind_fuse(self.wire)


@dataclass(frozen=True)
class Site:
    """A place where a feed may stand, and the way of its cable."""

    at: float
    """Share of the run's length, from its head. [1]"""
    length: float  # of the cable, one way [m]
    origin: Origin | None

    def feed(self, wire: Wire) -> Feed:
        """Return the feed that stands here, by this wire."""
        return Feed(self.at, Cable(wire, self.length), self.origin)


@dataclass(frozen=True)
class FeedPlan:
    """Feeds that serve: where, of which wire each, and what wire and work cost in the catalogue's currency."""

    sites: tuple[Site, ...]
    wires: tuple[Wire, ...]
    cost: float

    @property
    def told(self) -> str:
        """Places and wires, such as "at 0 % and 100 % of its length, each by awg-18"."""
        if len(self.sites) == 1:
            return f"at {100 * self.sites[0].at:.0f} % of its length by {self.wires[0].name}"
        if len(set(self.wires)) == 1:
            places = " and ".join(f"{100 * site.at:.0f} %" for site in self.sites)
            return f"at {places} of its length, each by {self.wires[0].name}"
        by_wire = zip(self.sites, self.wires, strict=True)
        return "at " + " and ".join(f"{100 * site.at:.0f} % by {wire.name}" for site, wire in by_wire)


@dataclass(frozen=True, eq=False)
class Case:
    """A run that is to keep its voltage in some frames; runs of one entry of the piece file are fed alike."""

    layout: CircuitLayout
    run: RunLayout
    codes: NDArray[np.uint8]  # (n_frame, n_pixel, 3) of the circuit as sent

    def with_feeds(self, feeds: Sequence[Feed]) -> CircuitLayout:
        """Return the circuit with this run fed so and not otherwise."""
        return fed_by(self.layout, self.run, feeds)


def search_feeds(
    cases: Sequence[Case], least: float, most_feeds: int = 3, wires: Sequence[PricedWire] | None = None
) -> FeedPlan | None:
    """Return the cheapest feeds that keep all pixels of these runs at ``least`` [V] in all their frames, or ``None``.

    Runs are fed alike, at the sites of the first. No cable carries more in any of the frames than it may on and on
    behind a standard fuse that protects it, and each is thick enough for the fuse in the circuit's lead. ``wires`` are
    the catalogue's unless given.
    """
    rating = max(circuit_fuse(case.layout.circuit).rating.value for case in cases)
    offered = worth_trying(priced_wires() if wires is None else wires, rating)
    if not offered:
        return None
    best: FeedPlan | None = None
    sites = sites_of(cases[0].run)
    choices = [chosen for count in range(1, most_feeds + 1) for chosen in combinations(sites, count)]
    for chosen in sorted(choices, key=lambda each: cost_of(each, [offered[0]] * len(each))):
        if best is None or cost_of(chosen, [offered[0]] * len(chosen)) < best.cost:
            best = _cheapest_at(cases, least, chosen, offered, best)
    return best


def priced_wires() -> list[PricedWire]:
    """Return the wires of the catalogue, by judged prices."""
    found = [(wire, unit_price(wire.name)) for wire in load_catalogue().wires.values()]
    return [PricedWire(wire, price) for wire, price in found if price is not None]


def worth_trying(wires: Sequence[PricedWire], fuse: float = 0.0) -> list[PricedWire]:
    """Return the wires that no other one beats in price, resistance and current at once, the cheapest first.

    What no standard fuse protects, or not a fuse of this rating [A] upstream, is left out.
    """

    def figures(each: PricedWire) -> tuple[float, float, float]:
        return each.price, each.wire.resistance.value, -each.carries

    kept: list[PricedWire] = []
    guarded = [each for each in wires if each.carries and each.wire.ampacity.value >= fuse]
    for each in sorted(guarded, key=figures):
        if not any(all(a <= b for a, b in zip(figures(other), figures(each), strict=True)) for other in kept):
            kept.append(each)
    return kept


def sites_of(run: RunLayout) -> tuple[Site, ...]:
    """Return where a run may be fed, from its head on: as the piece file has it, and at its quarters.

    A feed that comes from the run itself is no site, since it brings nothing without another.
    """
    written = [
        Site(feed.at, feed.cable.length, feed.origin)
        for feed in run.run.feeds
        if feed.origin is None or feed.origin.run != run.run.name
    ]
    head = head_feed()[0]
    first = min(written, key=lambda site: site.at, default=Site(head.at, head.cable.length, None))
    length = max(run_length(run), run.n_pixel / run.run.strip.density.value)
    along = [
        Site(at, first.length + abs(at - first.at) * length, first.origin)
        for at in PLACES
        if all(abs(at - site.at) > SAME_PLACE for site in written)
    ]
    return tuple(sorted([*written, *along], key=lambda site: site.at))


def cost_of(sites: Sequence[Site], wires: Sequence[PricedWire]) -> float:
    """Return what feeds at these sites by these wires cost: both conductors of each cable, and the work."""
    return sum(FEED_WORK + 2 * site.length * each.price for site, each in zip(sites, wires, strict=True))


def cost_as_written(run: RunLayout, wires: Sequence[PricedWire]) -> float:
    """Return what the feeds of a run cost as the piece file has them; a wire without a price costs nothing."""
    prices = {each.wire.name: each.price for each in wires}
    return sum(FEED_WORK + 2 * feed.cable.length * prices.get(feed.cable.wire.name, 0.0) for feed in run.run.feeds)


class Trial:
    """A run fed at certain sites, tried with any wires."""

    def __init__(self, case: Case, least: float, sites: Sequence[Site]) -> None:
        self._codes, self._least = case.codes, least
        factor = copper_factor(case.layout.circuit.wiring.copper)
        self._lengths = [factor * site.length for site in sites]
        any_wire = next(iter(load_catalogue().wires.values()))
        fed = case.with_feeds([site.feed(any_wire) for site in sites])
        self._rails = Rails(wire_up(fed), range(case.run.first, case.run.first + case.run.n_pixel))
        names = [self._rails.network.wires[index].name for index in self._rails.laid]
        self._flows = [names.index(feed_name(case.run.run.name, site.at)) for site in sites]

    def serves(self, resistances: Sequence[float], limits: Sequence[float]) -> bool:
        """Return whether the run keeps its voltage by cables of these wires [ohm/m], none above its limit [A]."""
        ohms = [each * length for each, length in zip(resistances, self._lengths, strict=True)]
        cables = [self._rails.laid[flow] for flow in self._flows]
        block = self._rails.with_cables(dict(zip(cables, ohms, strict=True))).solve(self._codes)
        if block.volts.min() < self._least:
            return False
        return bool(np.all(np.abs(block.flows[:, self._flows]) <= np.array(limits)))


def _cheapest_at(
    cases: Sequence[Case],
    least: float,
    sites: tuple[Site, ...],
    offered: Sequence[PricedWire],
    best: FeedPlan | None,
) -> FeedPlan | None:
    """Return the cheapest plan at these sites, or ``best`` where none is cheaper; ``offered`` the cheapest first."""
    trials = [Trial(case, least, sites) for case in cases]
    strongest = (
        min(each.wire.resistance.value for each in offered),
        max(each.carries for each in offered),
    )

    def serves(figures: Sequence[tuple[float, float]]) -> bool:
        ohms, amperes = [each[0] for each in figures], [each[1] for each in figures]
        for number, trial in enumerate(trials):
            if not trial.serves(ohms, amperes):
                trials.insert(0, trials.pop(number))  # what failed once fails again first
                return False
        return True

    def extend(chosen: list[PricedWire]) -> None:
        nonlocal best
        n_open = len(sites) - len(chosen)
        lowest = cost_of(sites, [*chosen, *[offered[0]] * n_open])
        if best is not None and lowest >= best.cost:
            return
        if not serves([(each.wire.resistance.value, each.carries) for each in chosen] + [strongest] * n_open):
            return
        if not n_open:
            best = FeedPlan(sites, tuple(each.wire for each in chosen), lowest)
            return
        for each in offered:
            extend([*chosen, each])

    extend([])
    return best


def fed_by(layout: CircuitLayout, run: RunLayout, feeds: Sequence[Feed]) -> CircuitLayout:
    """Return the circuit with one of its runs fed so and not otherwise."""
    new = dataclasses.replace(run.run, feeds=tuple(feeds))
    circuit = dataclasses.replace(
        layout.circuit, runs=tuple(new if each is run.run else each for each in layout.circuit.runs)
    )
    runs = tuple(dataclasses.replace(each, run=new) if each is run else each for each in layout.runs)
    return dataclasses.replace(layout, circuit=circuit, runs=runs)
