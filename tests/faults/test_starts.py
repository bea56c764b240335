"""How far apart circuits start: a show that is meant to travel along a path comes in any order otherwise."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.faults.every import embody
from lampwright.faults.starts import AT_A_PACK, judge_starts, people_needed, share_way, shortest_way, switch_on
from lampwright.findings.model import Severity
from tests.faults.pieces import row


def length(way: tuple[int, ...], steps: np.ndarray) -> float:
    return float(sum(steps[a, b] for a, b in itertools.pairwise(way)))


def distances(points: list[tuple[float, float]]) -> np.ndarray:
    at = np.array(points, dtype=np.float64)
    return np.asarray(np.hypot(*(at[:, None] - at[None, :]).transpose(2, 0, 1)))


points = st.lists(st.tuples(*[st.floats(0, 30)] * 2), min_size=1, max_size=6)


@given(points)
def test_no_way_past_all_packs_is_shorter(at: list[tuple[float, float]]) -> None:
    steps = distances(at)
    way, is_shortest = shortest_way(steps)
    assert is_shortest
    assert sorted(way) == list(range(len(at)))
    assert length(way, steps) <= min(length(each, steps) for each in itertools.permutations(range(len(at)))) + 1e-9


def test_a_way_past_many_packs_is_at_most_a_little_longer_and_says_so() -> None:
    dice = np.random.default_rng(5)
    for _ in range(5):
        steps = distances([tuple(each) for each in dice.uniform(0, 20, (12, 2))])
        way, is_shortest = shortest_way(steps)
        assert not is_shortest
        assert sorted(way) == list(range(12))
        # a spanning tree is never longer than the shortest way
        reached, tree = {0}, 0.0
        while len(reached) < 12:
            step, new = min((steps[a, b], b) for a in reached for b in set(range(12)) - reached)
            reached.add(new)
            tree += step
        assert length(way, steps) <= 1.6 * tree


@given(points, st.integers(1, 4))
def test_people_share_the_way_as_evenly_as_it_goes(at: list[tuple[float, float]], people: int) -> None:
    steps = distances(at)
    order = tuple(range(len(at)))

    def longest(parts: list[tuple[int, ...]]) -> float:
        return max(length(part, steps) + AT_A_PACK * (len(part) - 1) for part in parts)

    parts = share_way(order, steps, people)
    assert sum(parts, ()) == order
    assert len(parts) <= people
    cuts = itertools.chain.from_iterable(
        itertools.combinations(range(1, len(at)), n) for n in range(min(people, len(at)))
    )
    every = [[order[a:b] for a, b in itertools.pairwise((0, *cut, len(at)))] for cut in cuts]
    assert longest(parts) <= min(longest(each) for each in every) + 1e-6


def test_posts_in_a_row_are_switched_on_one_after_the_other() -> None:
    body = embody(row(4))
    # by hand: 1 m apart, at 1 m/s and 20 s a pack
    assert [each.seconds for each in switch_on(body).starts] == pytest.approx([0, 21, 42, 63])
    assert switch_on(body, 2).spread == pytest.approx(21)
    assert switch_on(body, 4).spread == 0.0
    assert people_needed(body, 30.0) == 2


def test_a_spread_that_nobody_can_keep_is_told_with_how_many_people_it_takes() -> None:
    finding = judge_starts(embody(row(4, standby='switch_on_spread = "10 s"')))
    assert finding is not None
    assert finding.severity is Severity.WARN
    assert finding.value == "one person takes 63 s from the first pack to the last"
    assert finding.do.startswith("have 4 people switch on")
    assert 'switch_on_spread = "70 s"' in finding.do


def test_one_circuit_has_nothing_to_start_apart_from() -> None:
    assert judge_starts(embody(row(1))) is None
    finding = judge_starts(embody(row(4)))
    assert finding is not None
    assert finding.severity is Severity.PASS
