"""The order in which the unknowns of a network are eliminated, and the pattern that this leaves.

Wires make sparse symmetric equations. Taking the unknown with the fewest neighbours first (minimum degree)
leaves a line or a tree without any fill-in, and a loop with a few entries; the pattern depends on the wiring
alone and serves every frame.

Source
------
George and Liu, Computer Solution of Large Sparse Positive Definite Systems, 1981 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.power.graph_kernels import eliminate, entries_of, targets_of

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

    def at(self, one: Ints, other: Ints) -> Ints:
        """Return where the values of pairs of unknowns stand; of both alike, the diagonal's."""
        entries: Ints = entries_of(self.column, self.row, self.position[one], self.position[other])
        return entries


def find_pattern(n: int, one: Ints, other: Ints) -> Pattern:
    """Return the pattern of ``n`` unknowns of which these pairs meet in an equation."""
    order, column, met = eliminate(n, one, other)
    position = np.empty(n, dtype=np.int64)
    position[order] = np.arange(n)
    row = position[met]
    # sorted within each column: a column's number in front keeps columns apart
    row = np.sort(row + n * np.repeat(np.arange(n), np.diff(column))) % n if n else row
    target, first_target = targets_of(column, row)
    return Pattern(position, column, row, target, first_target)
