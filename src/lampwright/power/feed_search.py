"""The feeds that keep a run's voltage at the least cost: how many, where, and by which wire each.

Feeds may stand at quarters of the run; each is a cable along the run from its head, and costs its wire, by the metre,
and its work. Every choice of places and wires is covered, most of them without being tried:

- a wire that costs no less than another, and neither conducts nor carries more, is left out;
- a choice of places whose work and cheapest wire cost no less than the best plan so far is left out;
- so is any choice that fails with the thickest wire for all feeds that are still open: thicker wire from the same point
  never lowers a supply by enough to matter, and takes load off the others, which the tests hold against trying all.
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
from lampwright.piece.model import Cable, Feed
from lampwright.power.network import copper_factor
from lampwright.power.solve import Rails
from lampwright.power.wiring import feed_name, run_length, wire_up

PLACES = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Shares of a run where a feed may stand (our choice)."""

TAIL = 0.3
"""Cable from the end of the lead to the head of the run (our choice). [m]"""

FEED_WORK = 10.0
"""What making one feed costs besides its wire: half an hour at 20 an hour (judgement), in the catalogue's currency."""


@dataclass(frozen=True)
class PricedWire:
    """A wire and what a metre of one conductor costs, in the catalogue's currency."""

    wire: Wire
    price: float


@dataclass(frozen=True)
class FeedPlan:
    """Feeds that serve: where, of which wire each, and what wire and work cost in the catalogue's currency."""

    places: tuple[float, ...]
    wires: tuple[Wire, ...]
    cost: float


def search_feeds(
    layout: CircuitLayout,
    run: RunLayout,
    codes: NDArray[np.uint8],
    least: float,
    most_feeds: int = 3,
    wires: Sequence[PricedWire] | None = None,
) -> FeedPlan | None:
    """Return the cheapest feeds of a run that keep all of its pixels at ``least`` [V] in this frame, or ``None``.

    No cable of the run carries more than its ampacity. ``wires`` are the catalogue's unless given.
    """
    offered = worth_trying(priced_wires() if wires is None else wires)
    if not offered:
        return None
    best: FeedPlan | None = None
    choices = [places for count in range(1, most_feeds + 1) for places in combinations(PLACES, count)]
    for places in sorted(choices, key=lambda each: cost_of(run, each, [offered[0]] * len(each))):
        if best is None or cost_of(run, places, [offered[0]] * len(places)) < best.cost:
            best = _cheapest_at(Trial(layout, run, codes, least, places), run, places, offered, best)
    return best


def priced_wires() -> list[PricedWire]:
    """Return the wires of the catalogue, by judged prices."""
    found = [(wire, unit_price(wire.name)) for wire in load_catalogue().wires.values()]
    return [PricedWire(wire, price) for wire, price in found if price is not None]


def worth_trying(wires: Sequence[PricedWire]) -> list[PricedWire]:
    """Return the wires that no other one beats in price, resistance and ampacity at once, the cheapest first."""

    def figures(each: PricedWire) -> tuple[float, float, float]:
        return each.price, each.wire.resistance.value, -each.wire.ampacity.value

    kept: list[PricedWire] = []
    for each in sorted(wires, key=figures):
        if not any(all(a <= b for a, b in zip(figures(other), figures(each), strict=True)) for other in kept):
            kept.append(each)
    return kept


def cost_of(run: RunLayout, places: Sequence[float], wires: Sequence[PricedWire]) -> float:
    """Return what feeds at these places by these wires cost: both conductors of each cable, and the work."""
    return sum(FEED_WORK + 2 * cable_length(run, at) * each.price for at, each in zip(places, wires, strict=True))


def cable_length(run: RunLayout, at: float) -> float:
    """Return the cable of a feed at this share of a run, from the end of the lead along the run. [m]"""
    return TAIL + at * max(run_length(run), run.n_pixel / run.run.strip.density.value)


class Trial:
    """A run fed at certain places, tried with any wires."""

    def __init__(
        self, layout: CircuitLayout, run: RunLayout, codes: NDArray[np.uint8], least: float, places: Sequence[float]
    ) -> None:
        self._codes, self._least = codes, least
        self._own = slice(run.first, run.first + run.n_pixel)
        factor = copper_factor(layout.circuit.wiring.copper)
        self._lengths = [factor * cable_length(run, at) for at in places]
        any_wire = next(iter(load_catalogue().wires.values()))
        self._rails = Rails(wire_up(fed_at(layout, run, places, [any_wire] * len(places))))
        index_of = {self._rails.network.wires[index].name: index for index in self._rails.laid}
        self._cables = [index_of[feed_name(run.run.name, at)] for at in places]

    def serves(self, resistances: Sequence[float], ampacities: Sequence[float]) -> bool:
        """Return whether the run keeps its voltage by cables of these wires [ohm/m], none above its ampacity [A]."""
        ohms = [each * length for each, length in zip(resistances, self._lengths, strict=True)]
        frame = self._rails.with_cables(dict(zip(self._cables, ohms, strict=True))).frame(self._codes)
        if frame.pixel_voltage[self._own].min() < self._least:
            return False
        return bool(np.all(np.abs(frame.wire_current[self._cables, 0]) <= np.array(ampacities)))


def _cheapest_at(
    trial: Trial, run: RunLayout, places: tuple[float, ...], offered: Sequence[PricedWire], best: FeedPlan | None
) -> FeedPlan | None:
    """Return the cheapest plan at these places, or ``best`` where none is cheaper; ``offered`` the cheapest first."""
    strongest = (
        min(each.wire.resistance.value for each in offered),
        max(each.wire.ampacity.value for each in offered),
    )

    def extend(chosen: list[PricedWire]) -> None:
        nonlocal best
        n_open = len(places) - len(chosen)
        lowest = cost_of(run, places, [*chosen, *[offered[0]] * n_open])
        if best is not None and lowest >= best.cost:
            return
        wires = [(each.wire.resistance.value, each.wire.ampacity.value) for each in chosen] + [strongest] * n_open
        if not trial.serves([wire[0] for wire in wires], [wire[1] for wire in wires]):
            return
        if not n_open:
            best = FeedPlan(places, tuple(each.wire for each in chosen), lowest)
            return
        for each in offered:
            extend([*chosen, each])

    extend([])
    return best


def fed_at(layout: CircuitLayout, run: RunLayout, places: Sequence[float], wires: Sequence[Wire]) -> CircuitLayout:
    """Return the circuit with this run fed at these places by these wires, and nowhere else."""
    feeds = tuple(Feed(at, Cable(wire, cable_length(run, at))) for at, wire in zip(places, wires, strict=True))
    new = dataclasses.replace(run.run, feeds=feeds)
    circuit = dataclasses.replace(
        layout.circuit, runs=tuple(new if each is run.run else each for each in layout.circuit.runs)
    )
    runs = tuple(dataclasses.replace(each, run=new) if each is run else each for each in layout.runs)
    return dataclasses.replace(layout, circuit=circuit, runs=runs)
