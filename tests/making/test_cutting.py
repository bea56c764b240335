"""A plan that can't be cut, or that costs more than it must, is a trip to the shop too many."""

from __future__ import annotations

import math
from collections import Counter
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.making import CutPlan, Piece, Stock, plan_cuts
from lampwright.units import MakerError

SIZES = st.lists(st.integers(1, 12), min_size=1, max_size=6)


def pieces(*sizes: int) -> list[Piece]:
    return [Piece(f"piece {number}", size) for number, size in enumerate(sizes)]


def assert_can_be_cut(plan: CutPlan, wanted: list[Piece], kerf: int) -> None:
    """Each piece once, none over another, a kerf between, all within the bar; limited stock not overdrawn."""
    cut = [each.piece for bar in plan.bars for each in bar.cuts]
    assert Counter(cut) == Counter(wanted)
    for bar in plan.bars:
        at = 0
        for each in bar.cuts:
            assert each.start == at
            assert each.end - each.start == each.piece.length
            at = each.end + kerf
        assert at - kerf <= bar.stock.length
        assert bar.rest == max(0, bar.stock.length - at)
    for stock, count in Counter(bar.stock for bar in plan.bars).items():
        assert stock.count is None or count <= stock.count


def cheapest_by_trying(sizes: tuple[int, ...], stock: list[Stock], kerf: int) -> float:
    """Return the least cost, found by filling one bar after the other in every way."""

    @cache
    def cost(left: tuple[int, ...], used: tuple[int, ...]) -> float:
        if not left:
            return 0.0
        best = math.inf
        for index, each in enumerate(stock):
            if each.count is not None and used[index] >= each.count:
                continue
            now = tuple(n + (i == index) for i, n in enumerate(used))
            for chosen in range(1, 2 ** len(left), 2):  # the first piece lies in this bar
                inside = [size for bit, size in enumerate(left) if chosen >> bit & 1]
                if sum(inside) + kerf * (len(inside) - 1) <= each.length:
                    rest = tuple(size for bit, size in enumerate(left) if not chosen >> bit & 1)
                    best = min(best, each.cost + cost(rest, now))
        return best

    return cost(sizes, (0,) * len(stock))


@settings(max_examples=40, deadline=None)
@given(SIZES, st.integers(0, 2), st.integers(12, 20), st.integers(1, 9), st.integers(1, 9), st.integers(0, 2))
def test_costs_what_trying_every_way_costs(
    sizes: list[int], kerf: int, length: int, dear: int, cheap: int, n_offcut: int
) -> None:
    stock = [Stock("long", length, dear), Stock("short", 12, cheap), Stock("offcut", 7, 0, n_offcut, is_offcut=True)]
    wanted = pieces(*sizes)
    plan = plan_cuts(stock, wanted, kerf)
    assert_can_be_cut(plan, wanted, kerf)
    assert plan.is_proven
    assert plan.cost == cheapest_by_trying(tuple(sizes), stock, kerf)


# G6: n pieces fit where n l + (n - 1) k <= L, reckoned by hand
@pytest.mark.parametrize(
    ("length", "n", "kerf", "size", "bars"),
    [(3000, 9, 0, 1000, 3), (3000, 9, 3, 1000, 5), (3048, 9, 3, 1000, 3), (3048, 2, 0, 1524, 1), (3048, 2, 3, 1524, 2)],
)
def test_the_saw_takes_its_kerf(length: int, n: int, kerf: int, size: int, bars: int) -> None:
    plan = plan_cuts([Stock("tube", length, 1)], pieces(*[size] * n), kerf)
    assert (len(plan.bars), plan.is_proven) == (bars, True)


def test_what_lies_on_the_shelf_is_used_before_anything_is_bought() -> None:
    stock = [Stock("new", 3000, 900), Stock("shelf", 1100, 0, 2, is_offcut=True)]
    plan = plan_cuts(stock, pieces(*[1000] * 6), 3)
    assert plan.cost == 2 * 900  # two from the shelf, then twice two: 3 x 1000 and two kerfs don't fit 3000
    assert sum(bar.stock.is_offcut for bar in plan.bars) == 2


def test_of_plans_that_cost_the_same_the_one_with_less_scrap_is_taken() -> None:
    # both fit two bars; 60 + 40 and 50 leave 50 to keep, 60 and 50 + 40 leave 40 and 10
    plan = plan_cuts([Stock("bar", 100, 1)], pieces(60, 50, 40), 0, least_useful=45)
    assert (plan.cost, plan.scrap, plan.kept) == (2, 0, (50,))


def test_a_piece_longer_than_any_stock_is_joined_and_counted() -> None:
    plan = plan_cuts([Stock("tube", 3000, 1)], pieces(6570), 3)
    assert plan.n_joint == 2
    assert sorted(cut.piece.length for bar in plan.bars for cut in bar.cuts) == [570, 3000, 3000]


def test_marks_are_where_the_tape_shows_them() -> None:
    (bar,) = plan_cuts([Stock("tube", 3000, 1)], pieces(1000, 1000), 3).bars
    assert bar.marks == (1000, 2003)
    assert bar.rest == 994


def test_a_graph_too_large_is_cut_all_the_same_and_not_called_proven(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("lampwright.making.cutting.MOST_ARCS", 40)
    wanted = pieces(997, 641, 353, 353, 211, 103, 3000)
    plan = plan_cuts([Stock("tube", 3000, 3000), Stock("short", 2990, 2990)], wanted, 3)
    assert_can_be_cut(plan, wanted, 3)
    assert plan.bound >= sum(piece.length for piece in wanted)
    assert not plan.is_proven


@settings(max_examples=30)
@given(sizes=SIZES, kerf=st.integers(0, 2), kept=st.integers(0, 2))
def test_a_plan_by_hand_stands_in_where_the_search_has_no_time(sizes: list[int], kerf: int, kept: int) -> None:
    stock = [Stock("a", 12, 10), Stock("b", 20, 15), Stock("c", 9, 0, kept, is_offcut=True)]
    wanted = pieces(*sizes)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("lampwright.making.cutting.solve_cuts", lambda lengths, time_limit: None)
        by_hand = plan_cuts(stock, wanted, kerf)
    assert_can_be_cut(by_hand, wanted, kerf)
    best = plan_cuts(stock, wanted, kerf)
    assert by_hand.bound <= best.cost <= by_hand.cost


def test_limited_stock_that_does_not_suffice_is_told() -> None:
    with pytest.raises(MakerError, match=r"MAKING-002: the stock doesn't yield these pieces"):
        plan_cuts([Stock("offcut", 1000, 0, 1)], pieces(800, 800))
    with pytest.raises(MakerError, match="MAKING-002: there is nothing to cut from"):
        plan_cuts([], pieces(800))


def test_nothing_to_cut_costs_nothing() -> None:
    plan = plan_cuts([Stock("tube", 3000, 5)], [])
    assert (plan.bars, plan.cost, plan.is_proven) == ((), 0, True)


def test_a_piece_longer_than_anything_sold_comes_whole_from_the_shelf() -> None:
    sold, kept = Stock("5 m", 300, 2300), Stock("5.767 m from the shelf", 346, 0, 3, is_offcut=True)
    plan = plan_cuts([sold, kept], [Piece(f"arch {i}", 346) for i in range(4)] + [Piece("garland", 108)])
    # by hand: three arches from the shelf, the fourth from a bought length and 46 of another, which has room for 108
    assert plan.n_joint == 1
    assert plan.cost == 2 * 2300
    assert sum(bar.stock.is_offcut and bar.rest == 0 and len(bar.cuts) == 1 for bar in plan.bars) == 3
