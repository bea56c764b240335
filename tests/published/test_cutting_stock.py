"""Cutting stock with known optima.

Sources, data and optima as commonly quoted (secondary):
the roll of 5600 mm cut into thirteen widths, the usual worked example of the cutting-stock problem: 73 rolls, waste
0.401 %, relaxation 72.9167; V. Chvátal, Linear Programming (1983), chapter 13, rolls of 100 in cut into 45, 36, 31
and 14: 453 rolls, relaxation 452.25.
E. Falkenauer, "A hybrid grouping genetic algorithm for bin packing", Journal of Heuristics 2 (1996): triplets, bins
of 1000 filled exactly by three items of 250 to 500, so that the optimum is a third of the items; drawn here anew.
"""

from __future__ import annotations

import random

import pytest

from lampwright.making import CutPlan, Piece, Stock, plan_cuts

THIRTEEN = {
    1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20,
    2000: 10, 2050: 12, 2100: 14, 2140: 16, 2150: 18, 2200: 20,
}  # fmt: skip
FOUR = {45: 97, 36: 610, 31: 395, 14: 211}


def plan(roll: int, order: dict[int, int]) -> CutPlan:
    pieces = [Piece(f"{width}-{number}", width) for width, count in order.items() for number in range(count)]
    return plan_cuts([Stock("roll", roll, 1)], pieces, time_limit=60)


@pytest.mark.parametrize(
    ("roll", "order", "rolls", "relaxed"), [(5600, THIRTEEN, 73, 72.9167), (100, FOUR, 453, 452.25)]
)
def test_no_roll_more_than_published(roll: int, order: dict[int, int], rolls: int, relaxed: float) -> None:
    found = plan(roll, order)
    assert len(found.bars) == found.cost == found.bound == rolls
    assert relaxed <= found.bound < relaxed + 1


def test_the_waste_is_the_published_one() -> None:
    found = plan(5600, THIRTEEN)
    used = sum(width * count for width, count in THIRTEEN.items())
    assert 1 - used / (5600 * len(found.bars)) == pytest.approx(0.00401, abs=5e-6)


def test_triplets_are_packed_without_a_bin_too_many() -> None:
    draw = random.Random(12)
    sizes = []
    for _ in range(12):
        first = draw.randint(380, 490)
        second = draw.randint(max(250, 1000 - first - 500), (1000 - first) // 2)
        sizes += [first, second, 1000 - first - second]
    found = plan_cuts([Stock("bin", 1000, 1)], [Piece(str(n), size) for n, size in enumerate(sizes)], time_limit=60)
    assert found.cost == found.bound == 12
