"""Solve a rail network for every frame: what each pixel really gets.

The unknowns ``x`` are drops: of each place's plus rail below the pack's open voltage ``E``, and of its ground rail
below the pack's ground (which it is above: negative). With the conductances ``G``, ``B`` telling which drops a pixel
feels (+1 plus, -1 ground), and the pixels' currents ``I`` by :mod:`lampwright.power.pixel_model`::

    G x = B I(E - B' x)

A pixel's current never falls when its voltage rises, so this is the minimum of a strictly convex function: there
is one solution, and Newton's method with a line search on the slope always finds it. Where every pixel regulates,
``I`` doesn't depend on ``x``: one solve with a factor made once is exact, and that it was so is seen from the
lowest voltage found. Only frames that fail this go on to Newton, and every such solution is held to Kirchhoff's
current law.

Where the two conductors of all wires keep one ratio, both rails do the same and one of them is solved for both.

Source
------
Nodal analysis: any text on circuits. Newton's method on convex functions: Boyd and Vandenberghe, Convex
Optimization, 2004, section 9.5 (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lampwright.power.equations import bounded, equations_of, mirror_ratio
from lampwright.power.network import LEAST_RESISTANCE, Network, check_network
from lampwright.power.pixel_model import PixelModel, pixel_current
from lampwright.power.solve_kernels import newton, solve_frames, substitute

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_MISS = 1e-8
"""By how much currents may fail to add up before a solution counts as wrong. [A]"""


@dataclass(frozen=True)
class RailBlock:
    """What the rails did in a block of frames.

    ``lowest`` [V] and ``where`` (n_frame,) tell the lowest supply of any pixel, and which pixel that is;
    ``flows`` (n_frame, n_wire) the current in the plus conductor of each laid wire, then of the pack [A];
    ``volts`` (n_frame, n_watched) the supply of the watched pixels [V].
    """

    lowest: Floats
    where: Ints
    flows: Floats
    volts: Floats
    n_curved: int
    """Frames in which some pixel no longer regulated."""
    worst_miss: float
    """How far Kirchhoff's current law is missed in the worst of those. [A]"""


@dataclass(frozen=True)
class FrameRails:
    """Everything about one frame's rails."""

    plus: Floats  # (n_place,) against the pack's ground [V]
    ground: Floats  # (n_place,) against the pack's ground [V]
    pixel_voltage: Floats  # (n_pixel,) [V]
    pixel_current: Floats  # (n_pixel,) [A]
    wire_current: Floats  # (n_wire, 2) plus from start to end, ground from end to start [A]
    wire_heat: Floats  # (n_wire,) both conductors [W]
    pack_current: float  # [A]
    pack_heat: float  # in the pack's own resistance [W]
    load_power: float  # boards and leaks [W]
    supplied: float  # open voltage × current [W]
    miss: float  # of Kirchhoff's current law [A]

    @property
    def spent(self) -> float:
        """Power in pixels, boards, leaks, wires and in the pack itself. [W]"""
        pixels = float(self.pixel_voltage @ self.pixel_current)
        return pixels + self.load_power + float(self.wire_heat.sum()) + self.pack_heat


class Rails:
    """A network made ready; solves any frames of codes.

    Parameters
    ----------
    network : Network
    watched : sequence of int
        Pixels whose supply :meth:`solve` is to tell for every frame.

    Raises
    ------
    MakerError
        What :func:`~lampwright.power.network.check_network` finds.
    """

    def __init__(self, network: Network, watched: Sequence[int] = ()) -> None:
        check_network(network)
        self.network = network
        self.laid = tuple(index for index, wire in enumerate(network.wires) if not wire.is_strip)
        self._ratio = mirror_ratio(network)
        self._equations = equations_of(network, self._ratio)
        self._figures = figures_of(network.model)
        self._watched = np.array(watched, dtype=np.int64)

    def with_cables(self, resistances: Mapping[int, float]) -> Rails:
        """Return the rails with other cables in place of some: the resistance of each conductor by wire. [ohm]

        Places and order stay, so that this takes a fraction of making rails anew.
        """
        wires = list(self.network.wires)
        for index, resistance in resistances.items():
            wires[index] = replace(wires[index], plus=resistance, ground=resistance)
        changed = copy(self)
        changed.network = replace(self.network, wires=tuple(wires))
        changed._ratio = mirror_ratio(changed.network)
        if changed._ratio is None or self._ratio is None:
            changed._equations = equations_of(changed.network, changed._ratio)
            return changed
        conductance = self._equations.conductance.copy()
        for index, resistance in resistances.items():
            conductance[1 + index] = 1.0 / (2.0 * max(resistance, LEAST_RESISTANCE))
        changed._equations = self._equations.with_conductance(conductance)
        return changed

    def solve(self, codes: NDArray[np.uint8]) -> RailBlock:
        """Return what the rails do in each of these frames, (n_frame, n_pixel, 3) red, green, blue as sent."""
        eq, model, n_frame = self._equations, self.network.model, len(codes)
        watched_edges = np.array([*(1 + index for index in self.laid), 0], dtype=np.int64)
        lowest, where = np.empty(n_frame), np.zeros(n_frame, dtype=np.int64)
        flows, volts = np.empty((n_frame, len(watched_edges))), np.empty((n_frame, len(self._watched)))
        weights = np.array([model.quiescent, *(full / 255.0 for full in model.full)])
        n_curved, miss = solve_frames(
            eq.factored,
            *eq.for_newton(),
            np.ascontiguousarray(codes),
            self._figures,
            weights,
            self.network.source.voltage,
            model.safe,
            watched_edges,
            self._watched,
            lowest,
            where,
            flows,
            volts,
        )
        assert miss < MOST_MISS, f"the rail solver left {miss} A"
        return RailBlock(lowest, where, flows, volts, n_curved, miss)

    def frame(self, codes: NDArray[np.uint8]) -> FrameRails:
        """Return all voltages and currents of one frame, (n_pixel, 3) red, green, blue as sent."""
        eq = self._equations
        drop = eq.fixed.copy()
        substitute(eq.factored, eq.pattern.column, eq.pattern.row, drop)
        _, miss = newton(
            drop,
            *eq.for_newton(),
            np.ascontiguousarray(codes),
            self._figures,
            self.network.source.voltage,
            200,
        )
        assert miss < MOST_MISS, f"the rail solver left {miss} A"
        return self._told(drop, codes, miss)

    def _told(self, drop: Floats, codes: NDArray[np.uint8], miss: float) -> FrameRails:
        network, source, ratio = self.network, self.network.source, self._ratio
        eq = self._equations
        known = np.append(drop, 0.0)  # index -1: the reference
        below, above = known[eq.plus_of], -known[eq.ground_of]
        pack_current = float(below[0] / max(source.resistance, LEAST_RESISTANCE))
        if ratio is not None:
            # one rail stands for both: what is left after the pack's own droop is shared by the ratio
            above = (below - below[0]) * ratio / (1.0 + ratio)
            below = below - above
        plus, ground = source.voltage - below, above
        pixels = np.array(network.pixels, dtype=np.int64)
        voltage = plus[pixels] - ground[pixels]
        current = pixel_current(network.model, voltage, codes)
        copper = network.copper
        over = plus[copper.start] - plus[copper.end]
        under = ground[copper.end] - ground[copper.start]
        forth, back = over / bounded(copper.plus), under / bounded(copper.ground)
        loads = sum(amperes * float(plus[place] - ground[place]) for place, amperes in network.loads)
        leaks = sum(float(plus[leak.place] - ground[leak.place]) ** 2 / leak.resistance for leak in network.leaks)
        return FrameRails(
            plus=plus,
            ground=ground,
            pixel_voltage=voltage,
            pixel_current=current,
            wire_current=np.stack([forth, back], axis=1),
            wire_heat=forth * over + back * under,
            pack_current=pack_current,
            pack_heat=pack_current * float(source.voltage - plus[0]),
            load_power=loads + leaks,
            supplied=source.voltage * pack_current,
            miss=miss,
        )


def figures_of(model: PixelModel) -> Floats:
    """Return the model as the kernels take it: quiescent, floor, then full, start and knee of each channel."""
    return np.array([model.quiescent, model.floor, *model.full, *model.start, *model.knee])
