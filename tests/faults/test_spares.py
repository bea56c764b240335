"""Spares and repairs: what is missing in the case ends a night."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from lampwright.faults.every import embody
from lampwright.faults.kinds import all_kinds
from lampwright.faults.spares import CaseItem, Spare, case_items, expected_failures, pack_case, plan_spares
from tests.faults.pieces import row


def test_more_nights_and_more_confidence_take_more_spares() -> None:
    body = embody(row(4, garland=True))
    few, many = (sum(each.count for each in plan_spares(body, nights)) for nights in (1, 30))
    sure = sum(each.count for each in plan_spares(body, 1, 0.999))
    assert few < many
    assert few < sure


def test_each_plan_is_the_least_that_suffices() -> None:
    for spare in plan_spares(embody(row(4, garland=True)), 20):
        assert float(stats.poisson.cdf(spare.count, spare.expected)) >= 0.95
        assert spare.count == 0 or float(stats.poisson.cdf(spare.count - 1, spare.expected)) < 0.95


def test_every_pack_counts_with_each_way_it_fails() -> None:
    kinds = [facts for facts in all_kinds().values() if facts.spare == "pack"]
    hours = (60 + 7200) / 3600
    by_hand = 10 * 4 * sum(facts.rate.chance(hours) for facts in kinds)
    assert expected_failures(embody(row(4)), 10)["pack"] == pytest.approx(by_hand)


def test_the_case_is_packed_as_by_trying_everything() -> None:
    dice = np.random.default_rng(2)
    for _ in range(20):
        spares = [
            Spare(CaseItem(str(i), "", float(dice.uniform(0.1, 1)), float(dice.uniform(0.1, 1))), mean, 4, 0.9)
            for i, mean in enumerate(dice.uniform(0.1, 3, 3))
        ]
        packed = pack_case(spares, 2.0, 2.5)
        best = max(
            math.prod(float(stats.poisson.cdf(n, each.expected)) for n, each in zip(counts, spares, strict=True))
            for counts in itertools.product(range(5), repeat=3)
            if sum(n * each.item.mass for n, each in zip(counts, spares, strict=True)) <= 2.0
            and sum(n * each.item.volume for n, each in zip(counts, spares, strict=True)) <= 2.5
        )
        assert packed.confidence == pytest.approx(best)
        assert packed.mass <= 2.0
        assert packed.volume <= 2.5


def test_every_part_that_a_fault_takes_lies_in_the_case() -> None:
    assert all(facts.spare == "" or facts.spare in case_items() for facts in all_kinds().values())
