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

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.power.elimination import Pattern, find_pattern
from lampwright.power.network import LEAST_RESISTANCE, Network, RailWire, check_network, reached_from
from lampwright.power.pixel_model import PixelModel, pixel_current
from lampwright.power.solve_kernels import factor, newton, solve_frames, substitute

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


@dataclass(frozen=True)
class _Equations:
    """The network as the kernels take it; unknowns in elimination order."""

    pattern: Pattern
    plus_of: Ints  # (n_place,) unknown of each place's plus rail, -1: the reference
    ground_of: Ints  # (n_place,) of its ground rail, -1: the reference
    one: Ints  # (n_edge,) conductors
    other: Ints  # -1: the reference
    conductance: Floats
    fixed: Floats  # (n,) constant currents [A]
    base: Floats  # values of G
    factored: Floats
    between: Ints  # (n_pixel,) the value where a pixel's plus and ground meet
    pixel_plus: Ints
    pixel_ground: Ints

    def for_newton(self) -> tuple[Floats | Ints, ...]:
        """Return the equations in the order in which the kernels :func:`newton` and :func:`solve_frames` take them."""
        wiring = (self.one, self.other, self.conductance, self.fixed)
        return self.base, *_lists(self.pattern), *wiring, self.pixel_plus, self.pixel_ground, self.between


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
        self._ratio = _mirror_ratio(network)
        self._equations = _equations(network, self._ratio)
        self._figures = figures_of(network.model)
        self._watched = np.array(watched, dtype=np.int64)

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
        wires = np.array([_wire_currents(wire, plus, ground) for wire in network.wires]).reshape(-1, 4)
        loads = sum(amperes * float(plus[place] - ground[place]) for place, amperes in network.loads)
        leaks = sum(float(plus[leak.place] - ground[leak.place]) ** 2 / leak.resistance for leak in network.leaks)
        return FrameRails(
            plus=plus,
            ground=ground,
            pixel_voltage=voltage,
            pixel_current=current,
            wire_current=wires[:, :2],
            wire_heat=wires[:, 2] + wires[:, 3],
            pack_current=pack_current,
            pack_heat=pack_current * float(source.voltage - plus[0]),
            load_power=loads + leaks,
            supplied=source.voltage * pack_current,
            miss=miss,
        )


def _lists(pattern: Pattern) -> tuple[Ints, Ints, Ints, Ints]:
    return pattern.column, pattern.row, pattern.target, pattern.first_target


def figures_of(model: PixelModel) -> Floats:
    """Return the model as the kernels take it: quiescent, floor, then full, start and knee of each channel."""
    return np.array([model.quiescent, model.floor, *model.full, *model.start, *model.knee])


def _bounded(resistance: float) -> float:
    return max(resistance, LEAST_RESISTANCE)


def _mirror_ratio(network: Network) -> float | None:
    """Return ground over plus resistance if it is the same for all wires, else ``None``."""
    ratios = [_bounded(wire.ground) / _bounded(wire.plus) for wire in network.wires]
    if not ratios or not all(math.isfinite(each) and each > 0 for each in ratios):
        return None
    return ratios[0] if max(ratios) - min(ratios) <= 1e-12 * ratios[0] else None


def _conductors(network: Network, numbers: Ints, ratio: float | None) -> list[tuple[int, int, float]]:
    """Return all conductors as two unknowns (the second -1: the reference) and a conductance [S].

    First the pack's own resistance, then each wire's plus conductor in the order of the wires, then grounds, leaks.
    A conductor that isn't there keeps its place, with no conductance.
    """
    edges = [(int(numbers[0, 0]), -1, 1.0 / _bounded(network.source.resistance))]
    for wire in network.wires:
        resistance = _bounded(wire.plus) + (_bounded(wire.ground) if ratio is not None else 0.0)
        edges.append(_conductor(int(numbers[0, wire.end]), int(numbers[0, wire.start]), resistance))
    if ratio is None:
        edges += [
            _conductor(int(numbers[1, wire.end]), int(numbers[1, wire.start]), _bounded(wire.ground))
            for wire in network.wires
        ]
    edges += [
        _conductor(int(numbers[0, leak.place]), int(numbers[1, leak.place]), _bounded(leak.resistance))
        for leak in network.leaks
    ]
    return edges


def _conductor(one: int, other: int, resistance: float) -> tuple[int, int, float]:
    if one < 0:
        one, other = other, one
    return (max(one, 0), other, 0.0) if one < 0 or math.isinf(resistance) else (one, other, 1.0 / resistance)


def _wire_currents(wire: RailWire, plus: Floats, ground: Floats) -> tuple[float, float, float, float]:
    """Return plus and ground current of a wire [A] and the heat in its two conductors [W]."""
    over, under = plus[wire.start] - plus[wire.end], ground[wire.end] - ground[wire.start]
    forth = float(over) / _bounded(wire.plus)
    back = float(under) / _bounded(wire.ground)
    return forth, back, forth * float(over), back * float(under)


def _equations(network: Network, ratio: float | None) -> _Equations:
    """Return the equations of a network, both rails or one for both."""
    n_place = network.n_place
    numbers = np.full((2, n_place), -1, dtype=np.int64)
    reached = [reached_from(network, "plus"), reached_from(network, "ground")]
    count = 0
    for place in range(n_place):
        for rail in (0, 1) if ratio is None else (0,):
            # the pack's ground is the reference; what no wire reaches carries nothing
            if place in reached[rail] and (rail, place) != (1, 0):
                numbers[rail, place] = count
                count += 1
    edges = _conductors(network, numbers, ratio)
    pixels = np.array(network.pixels, dtype=np.int64)
    pixel_plus, pixel_ground = numbers[0][pixels], numbers[1][pixels]
    pairs = [(one, other) for one, other, _ in edges if other >= 0]
    pairs += [(int(one), int(other)) for one, other in zip(pixel_plus, pixel_ground, strict=True) if other >= 0]
    pattern = find_pattern(count, pairs)
    base = np.zeros(pattern.n_value)
    for one, other, conductance in edges:
        base[pattern.at(one, one)] += conductance
        if other >= 0:
            base[pattern.at(other, other)] += conductance
            base[pattern.at(one, other)] -= conductance
    fixed = np.zeros(count + 1)  # the last stands for the reference, whose currents don't matter
    for place, current in network.loads:
        fixed[numbers[0, place]] += current
        fixed[numbers[1, place]] -= current
    for leak in network.leaks:
        # what flows without any drop; how drops change it is among the conductors
        fixed[numbers[0, leak.place]] += network.source.voltage / _bounded(leak.resistance)
        fixed[numbers[1, leak.place]] -= network.source.voltage / _bounded(leak.resistance)
    factored = base.copy()
    factor(factored, *_lists(pattern))
    position = np.append(pattern.position, -1)
    between = [
        pattern.at(int(one), int(other)) if other >= 0 else 0
        for one, other in zip(pixel_plus, pixel_ground, strict=True)
    ]
    in_order = np.empty(count)
    in_order[pattern.position] = fixed[:-1]
    return _Equations(
        pattern=pattern,
        plus_of=position[numbers[0]],
        ground_of=position[numbers[1]],
        one=position[np.array([edge[0] for edge in edges], dtype=np.int64)],
        other=position[np.array([edge[1] for edge in edges], dtype=np.int64)],
        conductance=np.array([edge[2] for edge in edges]),
        fixed=in_order,
        base=base,
        factored=factored,
        between=np.array(between, dtype=np.int64),
        pixel_plus=position[pixel_plus],
        pixel_ground=position[pixel_ground],
    )
