"""A plan that needs three hands of two, or work at midnight, is no plan."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import beta

from lampwright.making import Calendar, Task, chance_in_time, critical_path, schedule

HOUR, DAY = 3600.0, 86_400.0
EVENINGS = Calendar(17 * HOUR, 4 * HOUR)


def fixed(name: str, hours: float, *after: str, is_wait: bool = False) -> Task:
    return Task(name, after, hours * HOUR, hours * HOUR, hours * HOUR, is_wait)


@st.composite
def networks(draw: st.DrawFn, may_wait: bool = True) -> list[Task]:
    tasks: list[Task] = []
    for number in range(draw(st.integers(1, 9))):
        after = [task.name for task in tasks if draw(st.integers(0, 3)) == 0]
        hours = draw(st.integers(0, 12))
        tasks.append(fixed(f"t{number}", hours, *after, is_wait=may_wait and draw(st.integers(0, 3)) == 0))
    return tasks


@settings(max_examples=150, deadline=None)
@given(networks(), st.integers(1, 3), st.integers(0, 20), st.integers(1, 24))
def test_nobody_does_two_things_at_once_nor_out_of_hours(
    tasks: list[Task], n_worker: int, begins: int, hours: int
) -> None:
    hours = min(hours, 24 - begins)
    calendar = Calendar(begins * HOUR, hours * HOUR)
    plan = schedule(tasks, calendar, n_worker, 1e9)
    slots = {slot.task.name: slot for slot in plan.slots}
    assert slots.keys() == {task.name for task in tasks}
    for slot in plan.slots:
        assert all(slots[name].finish <= slot.start + 1e-6 for name in slot.task.after)
        if slot.worker < 0:
            assert slot.finish - slot.start == pytest.approx(slot.task.mean)
            continue
        assert slot.worker < n_worker
        assert begins * HOUR - 1e-6 <= slot.start % DAY < (begins + hours) * HOUR + 1e-6
        worked = calendar.worked(np.array([slot.start, slot.finish]))
        assert worked[1] - worked[0] == pytest.approx(slot.task.mean, abs=1e-6)
    for worker in range(n_worker):
        mine = [slot for slot in plan.slots if slot.worker == worker and slot.task.mean > 0]
        assert all(one.finish <= other.start + 1e-6 for one, other in pairwise(mine))
    assert plan.finish == max(slot.finish for slot in plan.slots)


@settings(max_examples=100, deadline=None)
@given(networks(may_wait=False), st.integers(1, 3))
def test_no_plan_is_longer_than_a_list_rule_may_be(tasks: list[Task], n_worker: int) -> None:
    # Graham 1969: at most work / n + (1 - 1 / n) x critical path; and no less than either
    path, work = critical_path(tasks).length, sum(task.mean for task in tasks)
    finish = schedule(tasks, Calendar(0.0, DAY), n_worker, 1e9).finish
    assert finish <= work / n_worker + (1 - 1 / n_worker) * path + 1e-6
    assert finish >= max(path, work / n_worker) - 1e-6


def test_evenings_by_hand() -> None:
    tasks = [fixed("wait", 20, is_wait=True), fixed("solder", 5, "wait"), fixed("cure", 24, "solder", is_wait=True)]
    tasks += [fixed("mount", 2, "cure"), fixed("tube", 3)]
    plan = {slot.task.name: slot for slot in schedule(tasks, EVENINGS, 1, 6 * DAY).slots}
    assert (plan["tube"].start, plan["tube"].finish) == (17 * HOUR, 20 * HOUR)
    assert (plan["solder"].start, plan["solder"].finish) == (20 * HOUR, DAY + 21 * HOUR)  # one hour, then four
    assert plan["cure"].finish == 2 * DAY + 21 * HOUR
    assert (plan["mount"].start, plan["mount"].finish) == (3 * DAY + 17 * HOUR, 3 * DAY + 19 * HOUR)
    assert plan["mount"].slack == 2 * HOUR + 2 * 4 * HOUR  # what is left of that evening, and two more
    assert plan["mount"].is_critical
    assert not plan["cure"].is_critical  # it may take until the evening begins
    assert schedule(tasks, EVENINGS, 1, 3 * DAY).slots[-1].slack == -2 * HOUR


def test_the_chance_of_one_task_is_its_beta_distribution() -> None:
    task = Task("a", (), 1 * HOUR, 2 * HOUR, 6 * HOUR)
    for limit in (1.5, 2.0, 3.0, 4.5):
        exact = beta.cdf(limit, 1 + 4 / 5, 1 + 16 / 5, loc=1, scale=5)
        found = chance_in_time([task], Calendar(0.0, DAY), 1, limit * HOUR)
        assert found == pytest.approx(exact, abs=4 * np.sqrt(0.25 / 4000))


def test_many_tasks_in_a_row_come_near_the_normal_distribution() -> None:
    tasks = [Task(f"t{n}", (f"t{n - 1}",) if n else (), 1 * HOUR, 2 * HOUR, 4 * HOUR) for n in range(20)]
    network = critical_path(tasks)
    limit = network.length + 0.5 * np.sqrt(network.variance)
    found = chance_in_time(tasks, Calendar(0.0, DAY), 1, limit)
    assert found == pytest.approx(network.chance(limit), abs=0.04)


def test_nothing_left_to_do_is_surely_done() -> None:
    assert chance_in_time([], EVENINGS, 1, 0.0) == 1.0
    assert schedule([], EVENINGS, 1, 0.0).slots == ()


def test_tasks_in_a_circle_are_our_fault() -> None:
    with pytest.raises(AssertionError, match="in a circle"):
        critical_path([fixed("a", 1, "b"), fixed("b", 1, "a")])
