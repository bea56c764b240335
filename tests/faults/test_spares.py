"""Spares and repairs: what is missing in the case ends a night."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from lampwright.faults.every import embody, every_fault
from lampwright.faults.kinds import FaultKind, all_kinds
from lampwright.faults.repair import repairs
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


def test_every_kind_tells_the_crew_what_to_do_in_plain_words() -> None:
    for kind, facts in all_kinds().items():
        assert facts.sees.endswith(".")
        assert facts.do.endswith(".")
        assert len(facts.do.split()) <= 35, kind
        assert facts.spare == "" or facts.spare in case_items()
        for jargon in ("rail", "ground", "firmware", "voltage", "current", "short circuit"):
            assert jargon not in f"{facts.sees} {facts.do}".lower().replace("on the ground", "")


def test_repairs_are_those_of_the_piece_likeliest_first() -> None:
    body = embody(row(2))
    kinds = [facts.kind for facts in repairs(body)]
    assert set(kinds) == {fault.kind for fault in every_fault(body)}
    assert FaultKind.SPAN_TORN not in kinds
    assert kinds[0] is FaultKind.BOARD_RESET
