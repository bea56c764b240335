"""Cutting stock as a flow through a graph of lengths, solved to a proof by a mixed-integer solver.

A node is a length used up so far, an arc is a piece cut there, and each path from 0 to the end of a stock is one way
to cut it. The fewest flows that carry every piece are a least-cost plan: unlike a choice among patterns found
earlier, this graph holds *every* pattern, so the solver's bound is one on all plans.

Source
------
J. M. Valério de Carvalho, "Exact solution of bin-packing problems using column generation and branch-and-bound",
Annals of Operations Research 86 (1999), 629-659 (from memory): the arc-flow model and its reduction to cuts in
falling order of length.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Arc = tuple[int, int, int]
"""From a node, to a node, and which size is cut; at the end of a stock: the node, -1, and which stock."""


@dataclass(frozen=True)
class Lengths:
    """A cutting problem in whole units, kerf already counted in."""

    stock: tuple[int, ...]  # what each stock can hold
    cost: tuple[int, ...]  # of one of each, whole
    most: tuple[int | None, ...]  # of each, ``None``: as many as wanted
    size: tuple[int, ...]  # of the pieces, each once, falling
    count: tuple[int, ...]  # how many of each size
    least_useful: int = 0  # a rest at least this long is kept


@dataclass(frozen=True)
class Cuts:
    """What was found; ``bars`` names the stock and the sizes cut from it, one entry for each bar."""

    bars: tuple[tuple[int, tuple[int, ...]], ...]
    cost: int
    bound: int
    """No plan costs less."""


def count_arcs(lengths: Lengths, most: int) -> int:
    """Return how many cuts the graph holds; counting stops soon after ``most``."""
    return len(_arcs(lengths, most))


def solve_cuts(lengths: Lengths, time_limit: float) -> Cuts | None:
    """Return a least-cost plan, or ``None`` where the stock doesn't suffice or the time was too short for any plan.

    Among plans of that cost the one with the least scrap is taken, as far as the time allows.

    Parameters
    ----------
    lengths
        Sizes that fit at least one stock.
    time_limit
        For each of the two searches. [s]
    """
    cuts = sorted(_arcs(lengths))
    nodes = sorted({0, *(arc[0] for arc in cuts), *(arc[1] for arc in cuts)})
    ends = [(node, -1, s) for node in nodes for s, length in enumerate(lengths.stock) if 0 < node <= length]
    arcs = [*cuts, *ends]
    cost = np.array([0.0] * len(cuts) + [float(lengths.cost[s]) for _, _, s in ends])
    flow, bound = _search(lengths, arcs, nodes, cost, None, time_limit)
    if flow is None:
        return None
    least = _total(cost, flow)
    scrap = np.array([0.0] * len(cuts) + [_scrap(lengths, node, s) for node, _, s in ends])
    tidier, _ = _search(lengths, arcs, nodes, scrap, (cost, least), time_limit / 4)
    if tidier is not None and _total(cost, tidier) <= least:
        flow = tidier
    lowest = math.ceil(bound - 1e-6 * max(1.0, abs(bound)))
    return Cuts(tuple(_bars(arcs, flow)), least, min(least, lowest))


def _arcs(lengths: Lengths, most: int | None = None) -> set[Arc]:
    """Return the cuts, each where the sizes before it in falling order can have come to."""
    longest = max(lengths.stock)
    nodes, arcs = {0}, set()
    for index, (size, count) in enumerate(zip(lengths.size, lengths.count, strict=True)):
        reached = set(nodes)
        for node in nodes:
            for n in range(min(count, (longest - node) // size)):
                start = node + n * size
                arcs.add((start, start + size, index))
                reached.add(start + size)
        nodes = reached
        if most is not None and len(arcs) > most:
            break
    return arcs


def _scrap(lengths: Lengths, node: int, stock: int) -> float:
    """Return the scrap of a bar that is used up to ``node``, and one unit for the handling of the bar."""
    rest = lengths.stock[stock] - node
    return 1.0 + (rest if rest < lengths.least_useful or not lengths.least_useful else 0.0)


def _search(
    lengths: Lengths,
    arcs: Sequence[Arc],
    nodes: Sequence[int],
    objective: NDArray[np.float64],
    ceiling: tuple[NDArray[np.float64], int] | None,
    time_limit: float,
) -> tuple[NDArray[np.int64] | None, float]:
    """Return the flow on each arc that makes the objective least, and the bound; ``None``: no flow was found."""
    # Imported here: the solver takes a third of a second to load, which only this command should pay.
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    row_of = {node: row for row, node in enumerate(nodes) if node > 0}
    first_size = len(nodes) + 1
    first_stock = first_size + len(lengths.size)
    rows, columns, values = [], [], []
    for column, (start, end, which) in enumerate(arcs):
        entries = [(row_of[start], -1.0)] if start else []
        entries += [(row_of[end], 1.0), (first_size + which, 1.0)] if end >= 0 else [(first_stock + which, 1.0)]
        for row, value in entries:
            rows.append(row)
            columns.append(column)
            values.append(value)
    n_row = first_stock + len(lengths.stock)
    low, high = np.zeros(n_row), np.zeros(n_row)
    low[first_size:first_stock] = high[first_size:first_stock] = lengths.count
    high[first_stock:] = [math.inf if most is None else most for most in lengths.most]
    matrix = csr_array((values, (rows, columns)), shape=(n_row, len(arcs)))
    constraints = [LinearConstraint(matrix, low, high)]
    if ceiling is not None:
        constraints.append(LinearConstraint(ceiling[0][None, :], -math.inf, ceiling[1] + 0.5))
    found = milp(
        objective,
        integrality=np.ones(len(arcs), dtype=np.int64),
        bounds=Bounds(0, np.inf),
        constraints=constraints,
        options={"time_limit": time_limit, "mip_rel_gap": 0.0},
    )
    if found.x is None:
        return None, 0.0
    bound = found.mip_dual_bound
    return np.round(found.x).astype(np.int64), float(bound) if bound is not None else 0.0


def _total(cost: NDArray[np.float64], flow: NDArray[np.int64]) -> int:
    return round(float(cost @ flow))


def _bars(arcs: Sequence[Arc], flow: NDArray[np.int64]) -> Iterable[tuple[int, tuple[int, ...]]]:
    """Take the flow apart into paths, each from 0 to the end of a stock."""
    leaving: dict[int, list[list[int]]] = defaultdict(list)
    for (start, end, which), amount in zip(arcs, flow, strict=True):
        if amount:
            leaving[start].append([end, which, int(amount)])
    while leaving[0]:
        node, sizes = 0, []
        while node >= 0:
            arc = leaving[node][-1]
            arc[2] -= 1
            if not arc[2]:
                leaving[node].pop()
            node, which = arc[0], arc[1]
            if node >= 0:
                sizes.append(which)
        yield which, tuple(sizes)
