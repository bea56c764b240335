"""The fewest feeds and the least copper with which a run keeps its voltage.

Feeds may stand at quarters of the run; each is a cable along the run from its head. For one feed, then two, and so on,
every choice of places is tried with the thinnest wire that serves, and the first number of feeds that serves at all
wins; among its choices the one with the least copper. A choice that fails with the thickest wire of the catalogue is
left out at once, and the thinnest wire that serves is found by halving: thicker wire never lowers a supply by enough
to matter, which the tests hold against trying every wire.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.model import CircuitLayout, RunLayout
from lampwright.parts import load_catalogue
from lampwright.parts.model import Wire
from lampwright.piece.model import Cable, Feed
from lampwright.power.solve import Rails
from lampwright.power.wiring import feed_name, run_length, wire_up

PLACES = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Shares of a run where a feed may stand (our choice)."""

TAIL = 0.3
"""Cable from the end of the lead to the head of the run (our choice). [m]"""


@dataclass(frozen=True)
class FeedPlan:
    """Feeds that serve: where, and of which wire."""

    places: tuple[float, ...]
    wire: Wire
    copper: float
    """Volume of both conductors of all cables. [m³]"""


def search_feeds(
    layout: CircuitLayout, run: RunLayout, codes: NDArray[np.uint8], least: float, most_feeds: int = 3
) -> FeedPlan | None:
    """Return the fewest feeds of a run that keep all of its pixels at ``least`` [V] in this frame, or ``None``.

    No cable of the run carries more than its ampacity.
    """
    wires = wires_by_area()
    for count in range(1, most_feeds + 1):
        served = []
        for places in combinations(PLACES, count):
            wire = _thinnest(layout, run, codes, least, places, wires)
            if wire is not None:
                served.append(plan_of(run, places, wire))
        if served:
            return min(served, key=lambda plan: plan.copper)
    return None


def wires_by_area() -> list[Wire]:
    """Return the wires of the catalogue, thinnest first."""
    return sorted(load_catalogue().wires.values(), key=lambda wire: wire.area.value)


def plan_of(run: RunLayout, places: tuple[float, ...], wire: Wire) -> FeedPlan:
    """Return the plan of feeding a run at these places by this wire."""
    length = sum(feed.cable.length for feed in feeds_at(run, places, wire))
    return FeedPlan(places, wire, 2 * length * wire.area.value)


def feeds_at(run: RunLayout, places: tuple[float, ...], wire: Wire) -> Iterator[Feed]:
    """Yield the feeds of a run at these places, their cables along the run."""
    for at in places:
        yield Feed(at, Cable(wire, TAIL + at * run_length(run)))


def serves(
    layout: CircuitLayout,
    run: RunLayout,
    codes: NDArray[np.uint8],
    least: float,
    places: tuple[float, ...],
    wire: Wire,
) -> bool:
    """Return whether the run keeps its voltage with these feeds, and no cable is overloaded."""
    new = dataclasses.replace(run.run, feeds=tuple(feeds_at(run, places, wire)))
    circuit = dataclasses.replace(
        layout.circuit, runs=tuple(new if each is run.run else each for each in layout.circuit.runs)
    )
    runs = tuple(dataclasses.replace(each, run=new) if each is run else each for each in layout.runs)
    rails = Rails(wire_up(dataclasses.replace(layout, circuit=circuit, runs=runs)))
    frame = rails.frame(codes)
    if frame.pixel_voltage[run.first : run.first + run.n_pixel].min() < least:
        return False
    names = {feed_name(new.name, at) for at in places}
    flows = [abs(frame.wire_current[index, 0]) for index in rails.laid if rails.network.wires[index].name in names]
    return float(max(flows)) <= wire.ampacity.value


def _thinnest(
    layout: CircuitLayout,
    run: RunLayout,
    codes: NDArray[np.uint8],
    least: float,
    places: tuple[float, ...],
    wires: list[Wire],
) -> Wire | None:
    if not serves(layout, run, codes, least, places, wires[-1]):
        return None
    low, high = -1, len(wires) - 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if serves(layout, run, codes, least, places, wires[middle]) else (middle, high)
    return wires[high]
