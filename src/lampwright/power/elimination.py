"""The order in which the unknowns of a network are eliminated, and the pattern that this leaves.

Wires make sparse symmetric equations. Taking the unknown with the fewest neighbours first (minimum degree)
leaves a line or a tree without any fill-in, and a loop with a few entries; the pattern depends on the wiring
alone and serves every frame.

Source
------
George and Liu, Computer Solution of Large Sparse Positive Definite Systems, 1981 (from memory).
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Pattern:
    """Where the factor of a symmetric matrix has entries, all in elimination order.

    Values live in one array: first the entries below the diagonal, column by column, then the diagonal.
    """

    position: Ints  # (n,) of each unknown in the order of elimination
    column: Ints  # (n + 1,) first entry of each column
    row: Ints  # (n_entry,) row of each entry
    target: Ints  # what each pair of entries of a column changes, pair by pair
    first_target: Ints  # (n + 1,) first pair of each column

    @property
    def n(self) -> int:
        """Unknowns."""
        return len(self.position)

    @property
    def n_value(self) -> int:
        """Entries below the diagonal and on it."""
        return len(self.row) + self.n

    def at(self, one: int, other: int) -> int:
        """Return where the value of a pair of unknowns stands; both alike for the diagonal."""
        low, high = sorted((int(self.position[one]), int(self.position[other])))
        if low == high:
            return len(self.row) + low
        start, end = self.column[low], self.column[low + 1]
        return int(start + np.searchsorted(self.row[start:end], high))


def find_pattern(n: int, pairs: Iterable[tuple[int, int]]) -> Pattern:
    """Return the pattern of ``n`` unknowns of which these pairs meet in an equation."""
    neighbours: list[set[int]] = [set() for _ in range(n)]
    for one, other in pairs:
        if one != other:
            neighbours[one].add(other)
            neighbours[other].add(one)
    order, columns = _eliminate(neighbours)
    position = np.empty(n, dtype=np.int64)
    position[order] = np.arange(n)
    rows = [sorted(int(position[other]) for other in column) for column in columns]
    column_start = np.concatenate([[0], np.cumsum([len(row) for row in rows])]).astype(np.int64)
    entry = {(high, low): column_start[low] + index for low, row in enumerate(rows) for index, high in enumerate(row)}
    targets: list[int] = []
    first = [0]
    for low in range(n):
        for index, one in enumerate(rows[low]):
            targets.append(int(column_start[-1]) + one)
            targets += [int(entry[other, one]) for other in rows[low][index + 1 :]]
        first.append(len(targets))
    flat = np.array([each for row in rows for each in row], dtype=np.int64)
    return Pattern(position, column_start, flat, np.array(targets, dtype=np.int64), np.array(first, dtype=np.int64))


def _eliminate(neighbours: list[set[int]]) -> tuple[list[int], list[set[int]]]:
    """Return the unknowns in the order of elimination, and whom each still met."""
    waiting = [(len(each), index) for index, each in enumerate(neighbours)]
    heapq.heapify(waiting)
    order: list[int] = []
    columns: list[set[int]] = []
    is_gone = [False] * len(neighbours)
    while waiting:
        degree, index = heapq.heappop(waiting)
        if is_gone[index] or degree != len(neighbours[index]):
            continue
        is_gone[index] = True
        met = neighbours[index]
        order.append(index)
        columns.append(met)
        for one in met:
            neighbours[one] |= met
            neighbours[one] -= {one, index}
            heapq.heappush(waiting, (len(neighbours[one]), one))
    return order, columns
