"""A week planned wrongly is a piece unfinished on the night."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from functools import cache
from pathlib import Path

import pytest

from lampwright.findings.model import Severity
from lampwright.layout import Layout, lay_out
from lampwright.making import (
    Calendar,
    Hours,
    MaterialCuts,
    ShoppingList,
    Week,
    cut_all,
    plan_week,
    read_done,
    read_times,
    shopping_list,
    task_names,
)
from lampwright.making.week import count_units
from lampwright.parts import Offer
from lampwright.piece import read_piece
from lampwright.units import MakerError

GATE = Path(__file__).parents[2] / "examples" / "frost-gate" / "frost-gate.toml"
EVENINGS = Calendar(17 * 3600.0, 4 * 3600.0)


@pytest.fixture(scope="module")
def gate() -> Layout:
    return lay_out(read_piece(GATE))


@pytest.fixture(scope="module")
def at_ease(gate: Layout) -> Week:
    """Frost Gate begun two weeks before the show."""
    return plan(gate)


@cache
def bought_at(days: float) -> tuple[tuple[MaterialCuts, ...], ShoppingList]:
    """Return what is cut, and bought where everything takes so many days."""
    layout = lay_out(read_piece(GATE))
    cuts = cut_all(layout)
    lengths = {"conduit-1": 3.0, "ws2812b-60": 5.0}
    cut = {each.material.part for each in cuts}
    parts = {line.part for line in shopping_list(layout, cuts).lines}
    shop = [Offer(part, lengths.get(part, 10.0) if part in cut else None, 100, 1, days) for part in sorted(parts)]
    cuts = cut_all(layout, (), shop)
    return cuts, shopping_list(layout, cuts, (), shop)


def plan(
    layout: Layout,
    begin: tuple[int, int] = (12, 4),
    helpers: int = 0,
    done: Mapping[str, float] | None = None,
    times: Mapping[str, tuple[float, float, float]] | None = None,
    days: float = 3.0,
) -> Week:
    cuts, bought = bought_at(days)
    hours = Hours(datetime.date(2026, *begin), EVENINGS, 1 + helpers)
    return plan_week(layout, cuts, bought, hours, times, done)


def test_work_is_counted_from_the_piece(gate: Layout) -> None:
    counts = count_units(gate, cut_all(gate))
    # 4 hoops of 3 feeds, 3 garlands of 2, 7 runs; of 328 pixels each hoop is one joint longer than a reel of 300
    assert counts["circuit"] == counts["member"] == 4
    assert counts["span"] == 3
    assert counts["sealed place"] == (4 * 3 + 3 * 2) + 4 + 2 * 7
    # an arch with its garland: pack and fuse 3, four wires that meet 8, board's supply 2, two data lines 4; at each
    # of two heads 3 to the connector and 5 to the strip; hoop 4 cables at its middle and 1 at its end, garland 1;
    # lapped 3
    assert counts["solder joint"] == 3 * (3 + 8 + 2 + 4 + 2 * 8 + 2 * 6 + 3) + (3 + 8 + 2 + 2 + 8 + 2 * 3 + 3)
    # lead, board, feeds: plus and ground; one wire of each data line
    assert counts["wire piece"] == 2 * (4 + 4 + 4 * 3 + 3 * 2) + 7


def test_two_weeks_are_enough_and_three_days_are_not(gate: Layout, at_ease: Week) -> None:
    early, late = at_ease, plan(gate, begin=(12, 16))
    assert early.finding.severity is Severity.PASS
    assert early.chance > 0.99
    assert (late.finding.severity, late.chance) == (Severity.FAIL, 0.0)
    assert all(date.is_past for date in late.order_by)
    assert early.when(early.deadline) == datetime.datetime(2026, 12, 19, 12)


def test_a_week_that_begins_after_the_show_says_so(gate: Layout) -> None:
    late = plan(gate, begin=(12, 21)).finding
    assert late.severity is Severity.FAIL
    assert late.do == "give --begin a day before the show's, or mend the brief's date: the show's day is over by then"


def test_the_show_is_soaked_whole_after_everything_is_mounted(gate: Layout, at_ease: Week) -> None:
    slots = {slot.task.name: slot for slot in at_ease.schedule.slots}
    soak = slots["soak test, someone in sight of it"]
    assert soak.task.mean == gate.piece.brief.standby + gate.piece.brief.run_time
    assert soak.worker == 0  # lithium isn't left alone
    assert soak.start >= slots["rig spans"].finish


def test_an_order_on_the_last_day_is_safe_and_a_day_later_is_not(gate: Layout, at_ease: Week) -> None:
    week = at_ease
    strip = next(date for date in week.order_by if date.arrival == "strip arrives")
    spare = (strip.day - week.hours.begin).days
    assert 0 < spare < 15
    assert not strip.is_past
    # all parts later is no safer than strip alone later
    assert plan(gate, days=3.0 + spare + 6).chance < 0.9


def test_what_is_done_is_not_planned_again(gate: Layout, at_ease: Week) -> None:
    whole = at_ease
    names = [slot.task.name for slot in whole.schedule.slots]
    half = plan(gate, done={"solder joints": 0.5, **{name: 1.0 for name in names if "arrive" in name}})
    slots = {slot.task.name: slot for slot in half.schedule.slots}
    before = {slot.task.name: slot for slot in whole.schedule.slots}
    assert slots["solder joints"].task.mean == pytest.approx(before["solder joints"].task.mean / 2)
    assert not any("arrive" in name for name in slots)
    assert half.schedule.finish < whole.schedule.finish
    finished = plan(gate, done=dict.fromkeys(task_names(), 1.0))
    assert (finished.schedule.slots, finished.chance) == ((), 1.0)


def test_what_stands_between_still_counts_when_a_task_between_is_done(gate: Layout) -> None:
    slots = {slot.task.name: slot for slot in plan(gate, done={"cut strip": 1.0}).schedule.slots}
    assert "test reels" in slots["solder joints"].task.after


def test_a_helper_and_quicker_hands_help(gate: Layout, at_ease: Week) -> None:
    alone = at_ease
    assert plan(gate, helpers=1).schedule.finish < alone.schedule.finish
    quick = plan(gate, times={"mount strip": (1.0, 1.0, 1.0), "solder joints": (1.0, 1.0, 1.0)})
    assert quick.schedule.finish < alone.schedule.finish


def test_lists_of_work_are_read_and_their_faults_told(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text("task,least,likely,most\nsolder joints,1 min,90 s,4 min\n", encoding="utf-8")
    assert read_times(path, task_names()) == {"solder joints": (60.0, 90.0, 240.0)}
    path.write_text("task,done\ncut tube,\nsolder joints,40 %\n", encoding="utf-8")
    assert read_done(path, task_names()) == {"cut tube": 1.0, "solder joints": 0.4}
    path.write_text("task,done\ncut tubes,\nsolder joints,140 %\n", encoding="utf-8")
    with pytest.raises(MakerError) as caught:
        read_done(path, task_names())
    assert [problem.summary for problem in caught.value.problems] == [
        'there is no task "cut tubes"',
        "this is no share of a task",
    ]
    assert caught.value.problems[0].do == 'did you mean "cut tube"?'
    path.write_text("task,least,likely,most\ncut tube,5 min,3 min,9 min\nbench test,1 min,,\n", encoding="utf-8")
    with pytest.raises(MakerError, match=r"(?s)these times don't rise.*a time is missing"):
        read_times(path, task_names())
