"""A rail network as equations: unknowns, conductances, and the factor made once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lampwright.power.elimination import Pattern, find_pattern
from lampwright.power.graph_kernels import entries_of
from lampwright.power.network import LEAST_RESISTANCE, Network, reached_from
from lampwright.power.solve_kernels import factor

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Equations:
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

    def with_conductance(self, conductance: Floats) -> Equations:
        """Return the same wiring with other conductances, in the same order of elimination."""
        base = _values(self.pattern, Conductors(self.one, self.other, conductance))
        return replace(self, conductance=conductance, base=base, factored=_factored(self.pattern, base))

    def for_newton(self) -> tuple[Floats | Ints, ...]:
        """Return the equations in the order in which the kernels ``newton`` and ``solve_frames`` take them."""
        wiring = (self.one, self.other, self.conductance, self.fixed)
        return self.base, *lists_of(self.pattern), *wiring, self.pixel_plus, self.pixel_ground, self.between


class Conductors(NamedTuple):
    """Conductors between two unknowns (the second -1: the reference). [S]"""

    one: Ints
    other: Ints
    conductance: Floats


def lists_of(pattern: Pattern) -> tuple[Ints, Ints, Ints, Ints]:
    """Return a pattern as the kernels take it."""
    return pattern.column, pattern.row, pattern.target, pattern.first_target


def bounded(resistance: Floats) -> Floats:
    """Return resistances, none less than what keeps the equations well conditioned. [ohm]"""
    return np.maximum(resistance, LEAST_RESISTANCE)


def mirror_ratio(network: Network) -> float | None:
    """Return ground over plus resistance if it is the same for all wires, else ``None``."""
    copper = network.copper
    if not (len(copper.plus) and np.isfinite(copper.plus).all() and np.isfinite(copper.ground).all()):
        return None
    ratios = bounded(copper.ground) / bounded(copper.plus)
    return float(ratios[0]) if ratios.max() - ratios.min() <= 1e-12 * ratios[0] else None


def equations_of(network: Network, ratio: float | None) -> Equations:
    """Return the equations of a network: of both rails, or of one for both where they keep one ratio."""
    numbers = _number(network, ratio)
    n = int(numbers.max()) + 1
    edges = _conductors(network, numbers, ratio)
    pixels = np.array(network.pixels, dtype=np.int64)
    pixel_plus, pixel_ground = numbers[0][pixels], numbers[1][pixels]
    is_pair, is_apart = edges.other >= 0, pixel_ground >= 0
    pattern = find_pattern(
        n,
        np.concatenate([edges.one[is_pair], pixel_plus[is_apart]]),
        np.concatenate([edges.other[is_pair], pixel_ground[is_apart]]),
    )
    position = np.append(pattern.position, -1)
    ordered = Conductors(position[edges.one], position[edges.other], edges.conductance)
    base = _values(pattern, ordered)
    between = np.zeros(len(pixels), dtype=np.int64)
    between[is_apart] = pattern.at(pixel_plus[is_apart], pixel_ground[is_apart])
    fixed = np.empty(n)
    fixed[pattern.position] = _fixed_currents(network, numbers, n)
    return Equations(
        pattern=pattern,
        plus_of=position[numbers[0]],
        ground_of=position[numbers[1]],
        one=ordered.one,
        other=ordered.other,
        conductance=ordered.conductance,
        fixed=fixed,
        base=base,
        factored=_factored(pattern, base),
        between=between,
        pixel_plus=position[pixel_plus],
        pixel_ground=position[pixel_ground],
    )


def _values(pattern: Pattern, edges: Conductors) -> Floats:
    """Return the values of the conductances' matrix; conductors in elimination order."""
    is_pair = edges.other >= 0
    one, other, shared = edges.one[is_pair], edges.other[is_pair], edges.conductance[is_pair]
    values = np.zeros(pattern.n_value)
    diagonal = values[len(pattern.row) :]
    np.add.at(diagonal, edges.one, edges.conductance)
    np.add.at(diagonal, other, shared)
    np.add.at(values, entries_of(pattern.column, pattern.row, one, other), -shared)
    return values


def _factored(pattern: Pattern, base: Floats) -> Floats:
    factored = base.copy()
    factor(factored, *lists_of(pattern))
    return factored


def _number(network: Network, ratio: float | None) -> Ints:
    """Return (2, n_place) the unknown of each place's plus and ground rail, -1: the reference.

    The pack's ground is the reference; what no wire reaches carries nothing.
    """
    is_unknown = np.stack([reached_from(network, "plus"), reached_from(network, "ground")], axis=1)
    is_unknown[0, 1] = False
    if ratio is not None:
        is_unknown[:, 1] = False
    numbers = np.where(is_unknown, np.cumsum(is_unknown.ravel()).reshape(-1, 2) - 1, -1)
    return np.ascontiguousarray(numbers.T)


def _conductors(network: Network, numbers: Ints, ratio: float | None) -> Conductors:
    """Return all conductors: the pack's own resistance, each wire's plus in the order of the wires, grounds, leaks.

    A conductor that isn't there keeps its place, with no conductance.
    """
    copper, source = network.copper, network.source
    both = bounded(copper.plus) + (bounded(copper.ground) if ratio is not None else 0.0)
    leaks = np.array([leak.place for leak in network.leaks], dtype=np.int64)
    parts = [
        (numbers[0, :1], np.full(1, -1), bounded(np.array([source.resistance]))),
        (numbers[0, copper.end], numbers[0, copper.start], both),
        (numbers[0, leaks], numbers[1, leaks], bounded(np.array([leak.resistance for leak in network.leaks]))),
    ]
    if ratio is None:
        parts.insert(2, (numbers[1, copper.end], numbers[1, copper.start], bounded(copper.ground)))
    first, second, resistance = (np.concatenate(column) for column in zip(*parts, strict=True))
    one, other = np.where(first < 0, second, first), np.where(first < 0, first, second)
    is_there = (one >= 0) & np.isfinite(resistance)
    return Conductors(np.maximum(one, 0), other, np.where(is_there, 1.0 / resistance, 0.0))


def _fixed_currents(network: Network, numbers: Ints, n: int) -> Floats:
    """Return (n,) the constant currents of boards, and of leaks as if nothing dropped. [A]"""
    fixed = np.zeros(n + 1)  # the last stands for the reference, whose currents don't matter
    for place, current in network.loads:
        fixed[numbers[0, place]] += current
        fixed[numbers[1, place]] -= current
    for leak in network.leaks:
        # how drops change it is among the conductors
        flow = network.source.voltage / max(leak.resistance, LEAST_RESISTANCE)
        fixed[numbers[0, leak.place]] += flow
        fixed[numbers[1, leak.place]] -= flow
    return fixed[:-1]
