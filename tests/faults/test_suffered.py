"""Whoever switches faults on is told what stays lit, and whether the brief's demand still holds."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest

from lampwright.faults import Survey, suffer, survey, worst_first
from lampwright.faults.every import Body, PieceFault
from lampwright.layout import lay_out
from lampwright.piece import read_piece

EXAMPLE = Path(__file__).parents[2] / "examples" / "slow-procession" / "slow-procession.toml"


@pytest.fixture(scope="module")
def surveyed() -> Survey:
    return survey(lay_out(read_piece(EXAMPLE)))


@pytest.fixture(scope="module")
def body(surveyed: Survey) -> Body:
    return surveyed.body


def named(surveyed: Survey, names: tuple[str, ...]) -> list[PieceFault]:
    return [next(fault for fault in surveyed.faults if fault.name == name) for name in names]


def test_what_breaks_the_demand_in_the_survey_breaks_it_here_and_nothing_less_does(surveyed: Survey) -> None:
    assert surveyed.breaks
    for names in surveyed.breaks:
        assert not suffer(surveyed.body, named(surveyed, names)).holds
        for fewer in combinations(names, len(names) - 1):
            assert suffer(surveyed.body, named(surveyed, fewer)).holds


def test_without_a_fault_everything_is_lit(body: Body) -> None:
    suffered = suffer(body, [])
    assert (suffered.pixels_lit, suffered.circuits_lit, suffered.holds) == (1.0, len(body.anatomies), True)


def test_faults_together_take_at_least_what_each_takes(body: Body) -> None:
    worst = [fault for fault, _ in worst_first(body)[:40:8]]
    for one, other in combinations(worst, 2):
        both = suffer(body, [one, other]).shown.lost
        for alone in (one, other):
            assert (suffer(body, [alone]).shown.lost <= both).all()


def test_the_worst_come_first_and_none_is_left_out(surveyed: Survey) -> None:
    weighed = worst_first(surveyed.body)
    assert sorted(fault.name for fault, _ in weighed) == sorted(fault.name for fault in surveyed.faults)
    costs = [outage.cost for _, outage in weighed]
    assert costs == sorted(costs, reverse=True)


def test_what_mends_itself_at_once_breaks_no_demand(surveyed: Survey) -> None:
    hung = [fault for fault in surveyed.faults if "hangs" in fault.name]
    suffered = suffer(surveyed.body, hung)
    assert suffered.circuits_lit == 0
    assert (suffered.holds, suffered.n_lasting) == (True, 0)
