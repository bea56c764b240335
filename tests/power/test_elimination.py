"""The order of elimination: a network is solved the same however it is wired, and moving a feed costs no wait."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from lampwright.power.elimination import find_pattern
from lampwright.power.graph_kernels import spread
from lampwright.power.solve_kernels import factor, substitute

PAIRS = st.integers(1, 40).flatmap(
    lambda n: st.tuples(
        st.just(n), st.lists(st.tuples(st.integers(0, n - 1), st.integers(0, n - 1)), min_size=0, max_size=3 * n)
    )
)


def pairs_of(pairs: list[tuple[int, int]]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    array = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    return array[:, 0].copy(), array[:, 1].copy()


def plain_order(n: int, pairs: list[tuple[int, int]]) -> list[int]:
    """Return the order of least neighbours, worked out with sets."""
    met: dict[int, set[int]] = {index: set() for index in range(n)}
    for one, other in pairs:
        if one != other:
            met[one].add(other)
            met[other].add(one)
    order = []
    while met:
        index = min(met, key=lambda each: (len(met[each]), each))
        around = met.pop(index)
        for one in around:
            met[one] = (met[one] | around) - {one, index}
        order.append(index)
    return order


@settings(deadline=None)
@given(PAIRS)
def test_the_order_is_that_of_least_neighbours(case: tuple[int, list[tuple[int, int]]]) -> None:
    n, pairs = case
    pattern = find_pattern(n, *pairs_of(pairs))
    assert list(np.argsort(pattern.position)) == plain_order(n, pairs)


@settings(deadline=None)
@given(PAIRS, st.integers(0, 1000))
def test_any_pattern_solves_what_a_dense_solver_does(case: tuple[int, list[tuple[int, int]]], seed: int) -> None:
    n, pairs = case
    one, other = pairs_of([pair for pair in pairs if pair[0] != pair[1]])
    pattern = find_pattern(n, one, other)
    weights = np.random.default_rng(seed).uniform(0.1, 10.0, len(one))
    dense = np.eye(n)
    np.add.at(dense, (one, one), weights)
    np.add.at(dense, (other, other), weights)
    np.add.at(dense, (one, other), -weights)
    np.add.at(dense, (other, one), -weights)
    values = np.zeros(pattern.n_value)
    every = np.arange(n)
    np.add.at(values, pattern.at(every, every), 1.0)
    np.add.at(values, pattern.at(one, one), weights)
    np.add.at(values, pattern.at(other, other), weights)
    np.add.at(values, pattern.at(one, other), -weights)
    right = np.sin(every + 1.0)
    factor(values, pattern.column, pattern.row, pattern.target, pattern.first_target)
    solution = np.empty(n)
    solution[pattern.position] = right
    substitute(values, pattern.column, pattern.row, solution)
    assert solution[pattern.position] == pytest.approx(np.linalg.solve(dense, right), rel=1e-9, abs=1e-12)


def test_a_line_has_no_fill_in_and_a_loop_little() -> None:
    line = [(index, index + 1) for index in range(99)]
    assert len(find_pattern(100, *pairs_of(line)).row) == 99
    assert len(find_pattern(100, *pairs_of([*line, (99, 0)])).row) <= 99 + 98


@settings(deadline=None)
@given(PAIRS)
def test_what_is_reached_is_what_following_wires_finds(case: tuple[int, list[tuple[int, int]]]) -> None:
    n, pairs = case
    one, other = pairs_of(pairs)
    is_there = (one + other) % 3 != 0
    reached = {0}
    for _ in range(n):
        for start, end in zip(one[is_there], other[is_there], strict=True):
            if start in reached or end in reached:
                reached |= {int(start), int(end)}
    assert set(np.flatnonzero(spread(n, one, other, is_there, 0))) == reached
