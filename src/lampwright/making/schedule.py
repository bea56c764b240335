"""Who does what when: tasks given to hands within working hours, by a list rule, and how it may turn out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.making.critical_path import Task, critical_path, in_order

DAY = 86_400.0  # [s]
Times = NDArray[np.float64]


@dataclass(frozen=True)
class Calendar:
    """Working hours, alike on all days; times count from midnight of the first day. [s]"""

    begins: float  # each day, after midnight
    hours: float  # each day

    def worked(self, time: Times) -> Times:
        """Return the working time that has gone by."""
        day = np.floor(time / DAY)
        return np.asarray(day * self.hours + np.clip(time - day * DAY - self.begins, 0.0, self.hours))

    def starts(self, worked: Times) -> Times:
        """Return when so much working time has gone by and work goes on."""
        day = np.floor(worked / self.hours + 1e-12)
        return np.asarray(day * DAY + self.begins + np.maximum(0.0, worked - day * self.hours))

    def finishes(self, worked: Times) -> Times:
        """Return when so much working time has just gone by: in the evening rather than the next morning."""
        day = np.maximum(0.0, np.ceil(worked / self.hours - 1e-12) - 1)
        return np.asarray(day * DAY + self.begins + worked - day * self.hours)


@dataclass(frozen=True)
class Slot:
    """When a task is done and by whom."""

    task: Task
    worker: int
    """Counts from 0; -1: a wait."""
    start: float  # [s]
    finish: float
    slack: float
    """How much later it may end without making the piece late, the other tasks as planned; negative: it is late."""
    is_critical: bool
    """Whether any delay of it delays the end."""


@dataclass(frozen=True)
class Schedule:
    """All tasks in the order in which they are begun."""

    slots: tuple[Slot, ...]
    finish: float  # [s]


def schedule(tasks: Sequence[Task], calendar: Calendar, n_worker: int, deadline: float) -> Schedule:
    """Return a plan by mean durations.

    Of the tasks that can be begun first the one with the longest way to the end goes to the hands that are free
    first. Where there are no waits, such a list rule takes at most 2 - 1 / n_worker times the least time.

    Source: R. L. Graham, "Bounds on multiprocessing timing anomalies", SIAM Journal on Applied Mathematics 17 (1969)
    (from memory).
    """
    order, workers = _allot(tasks, calendar, n_worker)
    mean = np.array([[task.mean] for task in order]).reshape(-1, 1)
    start, finish = _run(order, workers, mean, calendar)
    end = float(finish.max(initial=0.0))
    slack = _slacks(order, workers, mean[:, 0], calendar, deadline, finish[:, 0])
    tight = _slacks(order, workers, mean[:, 0], calendar, end, finish[:, 0])
    slots = [
        Slot(task, workers[i], float(start[i, 0]), float(finish[i, 0]), float(slack[i]), bool(tight[i] < 1.0))
        for i, task in enumerate(order)
    ]
    return Schedule(tuple(sorted(slots, key=lambda slot: slot.start)), end)


def chance_in_time(
    tasks: Sequence[Task], calendar: Calendar, n_worker: int, deadline: float, n_sample: int = 4000, seed: int = 1
) -> float:
    """Return the share of simulated plans that end in time.

    Each duration is drawn from the beta distribution of its three points, independently; who does what in which
    order stays as planned. Source: beta with mean (a + 4 m + b) / 6 and shapes 1 + 4 (m - a) / (b - a) and
    1 + 4 (b - m) / (b - a), as usual for three-point estimates (from memory).
    """
    order, workers = _allot(tasks, calendar, n_worker)
    if not order:
        return 1.0
    _, finish = _run(order, workers, draw(order, n_sample, seed), calendar)
    return float(np.mean(finish.max(axis=0) <= deadline))


def draw(tasks: Sequence[Task], n_sample: int, seed: int) -> Times:
    """Return durations drawn for each task, (n_task, n_sample) float64. [s]"""
    random = np.random.default_rng(seed)
    drawn = np.empty((len(tasks), n_sample))
    for i, task in enumerate(tasks):
        width = task.most - task.least
        if width <= 0:
            drawn[i] = task.least
            continue
        low, high = 1 + 4 * (task.likely - task.least) / width, 1 + 4 * (task.most - task.likely) / width
        drawn[i] = task.least + width * random.beta(low, high, n_sample)
    return drawn


def _allot(tasks: Sequence[Task], calendar: Calendar, n_worker: int) -> tuple[tuple[Task, ...], tuple[int, ...]]:
    """Return the tasks in the order in which they are begun by their means, and who does each; -1 for waits.

    Nobody idles while there is something to begin: of what can be begun first, the task that must be done first.
    """
    latest = {name: span.latest_start for name, span in critical_path(tasks).spans.items()}
    free = [0.0] * n_worker  # working time
    finish: dict[str, float] = {}
    left = list(in_order(tasks))
    order: list[Task] = []
    workers: list[int] = []
    while left:
        ready = {
            task.name: max((finish[name] for name in task.after), default=0.0)
            for task in left
            if all(name in finish for name in task.after)
        }
        waits = [task for task in left if task.is_wait and task.name in ready]
        if waits:  # they hold nobody up
            task, worker = waits[0], -1
            finish[task.name] = ready[task.name] + task.mean
        else:
            at = {name: _one(calendar.worked, time) for name, time in ready.items()}
            worker = min(range(n_worker), key=lambda each: free[each])
            task = min(
                (task for task in left if task.name in ready),
                key=lambda task: (max(free[worker], at[task.name]), latest[task.name], task.name),
            )
            free[worker] = max(free[worker], at[task.name]) + task.mean
            finish[task.name] = _one(calendar.finishes, free[worker])
        order.append(task)
        workers.append(worker)
        left.remove(task)
    return tuple(order), tuple(workers)


def _one(change: Callable[[Times], Times], time: float) -> float:
    return float(change(np.array([time]))[0])


def _run(order: Sequence[Task], workers: Sequence[int], lengths: Times, calendar: Calendar) -> tuple[Times, Times]:
    """Return start and finish of each task in each sample, (n_task, n_sample) float64. [s]"""
    start, finish = np.zeros_like(lengths), np.zeros_like(lengths)
    row = {task.name: i for i, task in enumerate(order)}
    free: dict[int, Times] = {}
    for i, (task, worker) in enumerate(zip(order, workers, strict=True)):
        ready = np.zeros(lengths.shape[1])
        for name in task.after:
            ready = np.maximum(ready, finish[row[name]])
        if task.is_wait:
            start[i], finish[i] = ready, ready + lengths[i]
            continue
        at = np.maximum(calendar.worked(ready), free.get(worker, np.zeros_like(ready)))
        free[worker] = at + lengths[i]
        start[i], finish[i] = calendar.starts(at), calendar.finishes(at + lengths[i])
    return start, finish


def _slacks(
    order: Sequence[Task],
    workers: Sequence[int],
    mean: Times,
    calendar: Calendar,
    deadline: float,
    finish: Times,
) -> Times:
    """Return how much later each task may end for all to end by ``deadline``; of work in working time. [s]"""
    latest: dict[str, float] = {}
    next_of: Mapping[str, list[int]] = {task.name: [] for task in order}
    last: dict[int, str] = {}
    for i, (task, worker) in enumerate(zip(order, workers, strict=True)):
        for name in task.after:
            next_of[name].append(i)
        if worker >= 0:
            if worker in last:
                next_of[last[worker]].append(i)
            last[worker] = task.name
    begin_by = np.zeros(len(order))
    slack = np.zeros(len(order))
    for i in range(len(order) - 1, -1, -1):
        task = order[i]
        latest[task.name] = min((begin_by[k] for k in next_of[task.name]), default=deadline)
        if task.is_wait:
            begin_by[i] = latest[task.name] - mean[i]
            slack[i] = latest[task.name] - finish[i]
        else:
            worked = calendar.worked(np.array([latest[task.name], finish[i]]))
            begin_by[i] = float(calendar.starts(worked[0] - mean[i]))
            slack[i] = worked[0] - worked[1]
    return slack
