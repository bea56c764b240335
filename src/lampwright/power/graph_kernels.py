"""The compiled loops over a network's wiring: what is reached, what is eliminated when, where entries stand.

All of them lie in this one file and call nothing outside it, because numba's cache looks only at the file of the
function that it compiled.
"""

from __future__ import annotations

from heapq import heapify, heappop, heappush
from typing import Any

import numba
import numpy as np

_compile: Any = numba.njit
"""Untyped here, since the types that come with numba don't know all of its options."""


@_compile(cache=True)
def spread(n_place: int, start: Any, end: Any, is_there: Any, first: int) -> Any:
    """Return (n_place,) bool: whether conductors that are there connect each place with ``first``."""
    root = np.arange(n_place)
    for edge in range(len(start)):
        if is_there[edge]:
            one, other = start[edge], end[edge]
            while root[one] != one:
                root[one] = root[root[one]]
                one = root[one]
            while root[other] != other:
                root[other] = root[root[other]]
                other = root[other]
            root[other] = one
    for place in range(n_place):
        one = place
        while root[one] != one:
            root[one] = root[root[one]]
            one = root[one]
        root[place] = one
    return root == root[first]


@_compile(cache=True)
def eliminate(n: int, one: Any, other: Any) -> tuple[Any, Any, Any]:
    """Return the order of least neighbours of ``n`` unknowns of which these pairs meet, and whom each still met.

    The unknowns (n,), then where the met ones of each start (n + 1,), then those, as unknowns. Of several with as few
    neighbours the first is taken.
    """
    width = 8
    neighbours = np.empty((n, width), dtype=np.int64)
    degree = np.zeros(n, dtype=np.int64)
    is_gone = np.zeros(n, dtype=np.bool_)
    for pair in range(len(one)):
        if one[pair] == other[pair]:
            continue
        for turn in range(2):
            here, there = (one[pair], other[pair]) if turn == 0 else (other[pair], one[pair])
            is_known = False
            for k in range(degree[here]):
                is_known |= neighbours[here, k] == there
            if not is_known:
                if degree[here] == width:
                    wider = np.empty((n, 2 * width), dtype=np.int64)
                    wider[:, :width] = neighbours
                    neighbours, width = wider, 2 * width
                neighbours[here, degree[here]] = there
                degree[here] += 1
    waiting = [degree[index] * n + index for index in range(n)]
    heapify(waiting)
    order, first_met = np.empty(n, dtype=np.int64), np.zeros(n + 1, dtype=np.int64)
    met = [np.int64(0) for _ in range(0)]
    count = 0
    while len(waiting) > 0:
        least = heappop(waiting)
        index = least % n
        if is_gone[index] or least // n != degree[index]:
            continue
        is_gone[index] = True
        order[count] = index
        count += 1
        around = neighbours[index, : degree[index]].copy()
        for here in around:
            met.append(here)
            for k in range(degree[here]):
                if neighbours[here, k] == index:
                    degree[here] -= 1
                    neighbours[here, k] = neighbours[here, degree[here]]
                    break
            for there in around:
                is_known = there == here
                for k in range(degree[here]):
                    is_known |= neighbours[here, k] == there
                if not is_known:
                    if degree[here] == width:
                        wider = np.empty((n, 2 * width), dtype=np.int64)
                        wider[:, :width] = neighbours
                        neighbours, width = wider, 2 * width
                    neighbours[here, degree[here]] = there
                    degree[here] += 1
            heappush(waiting, degree[here] * n + here)
        first_met[count] = len(met)
    return order, first_met, np.array(met, dtype=np.int64)


@_compile(cache=True)
def entry_of(column: Any, row: Any, low: int, high: int) -> int:
    """Return where the entry of two unknowns, in elimination order, stands; both alike: on the diagonal."""
    if low == high:
        return len(row) + low
    start, end = column[low], column[low + 1]
    while start < end:
        middle = (start + end) // 2
        if row[middle] < high:
            start = middle + 1
        else:
            end = middle
    return int(start)


@_compile(cache=True)
def entries_of(column: Any, row: Any, one: Any, other: Any) -> Any:
    """Return where the entries of pairs of unknowns, in elimination order, stand."""
    entries = np.empty(len(one), dtype=np.int64)
    for pair in range(len(one)):
        low, high = min(one[pair], other[pair]), max(one[pair], other[pair])
        entries[pair] = entry_of(column, row, low, high)
    return entries


@_compile(cache=True)
def targets_of(column: Any, row: Any) -> tuple[Any, Any]:
    """Return what each pair of entries of a column changes, pair by pair, and the first pair of each column."""
    n = len(column) - 1
    first = np.zeros(n + 1, dtype=np.int64)
    for low in range(n):
        size = column[low + 1] - column[low]
        first[low + 1] = first[low] + size * (size + 1) // 2
    targets = np.empty(first[n], dtype=np.int64)
    pair = 0
    for low in range(n):
        for p in range(column[low], column[low + 1]):
            for q in range(p, column[low + 1]):
                targets[pair] = entry_of(column, row, row[p], row[q])
                pair += 1
    return targets, first
