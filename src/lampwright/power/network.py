"""The rail network of a circuit: one pack, both rails of every wire, pixels and boards between them.

A *place* is a point of the wiring where plus and ground can be touched together: a plug, a solder pad, a pixel.
Place 0 is the pack's output. A *wire* joins two places by its two conductors, each with its own resistance;
``inf`` means that this conductor isn't there. So a thicker ground, or a wire that carries ground alone, is as
ordinary as a cable, and wires may close loops.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lampwright.power.graph_kernels import spread
from lampwright.power.pixel_model import PixelModel
from lampwright.units import MakerError, Place, Problem

LEAST_RESISTANCE = 1e-5
"""Anything less counts as this much, so that the equations stay well conditioned; 0.1 mV at 10 A. [ohm]"""

COPPER_COEFFICIENT = 0.00393
"""Share by which copper's resistance grows with each kelvin, against 20 °C (from memory). [1/K]"""

REFERENCE_TEMPERATURE = 293.15
"""At which resistances are stated. [K]"""


@dataclass(frozen=True)
class Source:
    """The pack: its open voltage, how far it droops, and the most it may give."""

    voltage: float  # without load [V]
    resistance: float  # droop for each ampere [ohm]
    limit: float  # continuous [A]


@dataclass(frozen=True)
class RailWire:
    """One piece of wire between two places; both of its conductors."""

    name: str
    start: int
    end: int
    plus: float  # resistance of the plus conductor [ohm]
    ground: float  # of the ground conductor [ohm]
    is_strip: bool = False
    """Whether it is the strip's own copper between two pixels, not something that a maker lays."""


@dataclass(frozen=True)
class Leak:
    """A resistance from plus to ground at a place: moisture, a damaged pixel, a short. [ohm]"""

    place: int
    resistance: float


@dataclass(frozen=True, eq=False)
class Copper:
    """The wires of a network, (n_wire,) each: places, and resistance of both conductors. [ohm]"""

    start: NDArray[np.int64]
    end: NDArray[np.int64]
    plus: NDArray[np.float64]
    ground: NDArray[np.float64]


@dataclass(frozen=True)
class Network:
    """All of a circuit's rails; pixels of one sort."""

    source: Source
    n_place: int
    wires: tuple[RailWire, ...]
    pixels: tuple[int, ...]
    """The place of each pixel, in the order of the circuit."""
    model: PixelModel
    loads: tuple[tuple[int, float], ...] = ()
    """(place, constant current [A]) of boards."""
    leaks: tuple[Leak, ...] = ()
    origin: Place | None = None
    """Where in the piece file it is described."""

    @cached_property
    def copper(self) -> Copper:
        """All wires as arrays, in their order."""
        return Copper(
            start=np.array([wire.start for wire in self.wires], dtype=np.int64),
            end=np.array([wire.end for wire in self.wires], dtype=np.int64),
            plus=np.array([wire.plus for wire in self.wires], dtype=np.float64),
            ground=np.array([wire.ground for wire in self.wires], dtype=np.float64),
        )


def copper_factor(temperature: float) -> float:
    """Return by what copper's resistance at 20 °C is to be multiplied at this temperature [K].

    Source
    ------
    ``1 + 0.00393 (t - 20 °C)``, the coefficient of annealed copper (from memory).
    """
    return 1.0 + COPPER_COEFFICIENT * (temperature - REFERENCE_TEMPERATURE)


def check_network(network: Network) -> None:
    """Raise what makes a network impossible to solve or to trust.

    Raises
    ------
    MakerError
        POWER-015 for a pack without a limit, POWER-016 for a wire that leads nowhere, POWER-017 for pixels that
        no wire feeds, POWER-018 for a short.
    """
    problems = [*_without_limit(network), *_loose_ends(network), *_islands(network), *_shorts(network)]
    if problems:
        raise MakerError(problems)


def _without_limit(network: Network) -> Iterable[Problem]:
    limit = network.source.limit
    if not (math.isfinite(limit) and limit > 0):
        yield Problem(
            "POWER-015",
            "the pack has no limit stated",
            "no current limit" if not math.isfinite(limit) else f"{limit:g} A",
            "the continuous current of the output in use, more than 0 A",
            'read the label and write pack = { part = "...", current_limit = "2.4 A" }',
            network.origin,
        )


def _loose_ends(network: Network) -> Iterable[Problem]:
    """A laid wire that ends at a place where nothing else is."""
    touched: dict[int, int] = {}
    for wire in network.wires:
        for place in (wire.start, wire.end):
            touched[place] = touched.get(place, 0) + 1
    used = {0, *network.pixels, *(place for place, _ in network.loads), *(leak.place for leak in network.leaks)}
    for wire in network.wires:
        if wire.is_strip:
            continue
        if any(touched[place] == 1 and place not in used for place in (wire.start, wire.end)):
            yield Problem(
                "POWER-016",
                f'"{wire.name}" is connected at one end only',
                "nothing at its other end",
                "a run, a board or another wire at both ends",
                "connect its free end, or take it out",
                network.origin,
            )


def _islands(network: Network) -> Iterable[Problem]:
    """Pixels and boards that one of the rails doesn't reach from the pack."""
    for rail in ("plus", "ground"):
        reached = reached_from(network, rail)
        dark = np.flatnonzero(~reached[np.array(network.pixels, dtype=np.int64)])
        boards = [place for place, _ in network.loads if not reached[place]]
        if len(dark) or boards:
            found = f"pixels {dark[0]} to {dark[-1]}" if len(dark) > 1 else f"pixel {dark[0]}" if len(dark) else ""
            yield Problem(
                "POWER-017",
                f"no {rail} wire leads from the pack to {'these pixels' if len(dark) else 'the board'}",
                f"{found or 'the board'} without {rail}",
                "a feed with both conductors from the pack, or a run that has one",
                "add a feed to this run, or connect the missing conductor",
                network.origin,
            )


def reached_from(network: Network, rail: str) -> NDArray[np.bool_]:
    """Return (n_place,) whether one rail, "plus" or "ground", connects each place with the pack."""
    copper = network.copper
    is_there = np.isfinite(copper.plus if rail == "plus" else copper.ground)
    reached: NDArray[np.bool_] = spread(network.n_place, copper.start, copper.end, is_there, 0)
    return reached


def _shorts(network: Network) -> Iterable[Problem]:
    """A leak that alone would take more than the pack may give."""
    for leak in network.leaks:
        if network.source.voltage > network.source.limit * (leak.resistance + network.source.resistance):
            yield Problem(
                "POWER-018",
                "plus and ground are shorted",
                f"{leak.resistance:g} ohm between them",
                f"more than {network.source.voltage / network.source.limit:.3g} ohm, what the pack's limit allows",
                "unplug the pack, find the short with a meter, and mend it before anything is switched on",
                network.origin,
            )
