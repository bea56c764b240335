"""Critical path, slack and three-point estimates of a network of tasks."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter


@dataclass(frozen=True)
class Task:
    """A piece of work, or a wait, with how long it takes at least, most likely and at most."""

    name: str
    after: tuple[str, ...]
    least: float  # [s], or any one unit
    likely: float
    most: float
    is_wait: bool = False
    """Nobody's hands are needed, and nights count: deliveries, drying."""

    @property
    def mean(self) -> float:
        """Return (a + 4 m + b) / 6."""
        return (self.least + 4 * self.likely + self.most) / 6

    @property
    def variance(self) -> float:
        """Return ((b - a) / 6)²."""
        return ((self.most - self.least) / 6) ** 2


@dataclass(frozen=True)
class Span:
    """When a task can begin and end, at the earliest and at the latest that delays nothing."""

    earliest_start: float
    earliest_finish: float
    latest_start: float
    latest_finish: float

    @property
    def slack(self) -> float:
        """How much later it may begin."""
        return self.latest_start - self.earliest_start


@dataclass(frozen=True)
class Network:
    """The times of all tasks, as if there were hands enough."""

    spans: Mapping[str, Span]
    length: float
    critical: tuple[str, ...]
    """One longest path, in order; where several are as long, the one that varies most."""
    variance: float
    """Of that path's length."""

    def chance(self, limit: float) -> float:
        """Return the chance to be done within ``limit``: the critical path alone, as a normal distribution.

        It is too hopeful where other paths are nearly as long. Source: D. G. Malcolm et al., "Application of a
        technique for research and development program evaluation", Operations Research 7 (1959), 646-669 (from memory).
        """
        if self.variance == 0:
            return 1.0 if limit >= self.length else 0.0
        return 0.5 * (1 + math.erf((limit - self.length) / math.sqrt(2 * self.variance)))


def in_order(tasks: Sequence[Task]) -> tuple[Task, ...]:
    """Return the tasks, each behind those that it comes after.

    Raises
    ------
    AssertionError
        Tasks wait for each other in a circle, or for one that isn't there.
    """
    by_name = {task.name: task for task in tasks}
    try:
        names = list(TopologicalSorter({task.name: task.after for task in tasks}).static_order())
    except CycleError as error:
        raise AssertionError(f"tasks in a circle: {error.args[1]}") from error
    missing = [name for name in names if name not in by_name]
    assert not missing, f"no such tasks: {missing}"
    return tuple(by_name[name] for name in names)


def critical_path(tasks: Sequence[Task]) -> Network:
    """Return earliest and latest times by the tasks' mean durations.

    Source
    ------
    J. E. Kelley and M. R. Walker, "Critical-path planning and scheduling" (1959): forward pass by the greatest
    earliest finish of what comes before, backward pass by the least latest start of what comes after (from memory).
    """
    ordered = in_order(tasks)
    start: dict[str, float] = {}
    finish: dict[str, float] = {}
    for task in ordered:
        start[task.name] = max((finish[name] for name in task.after), default=0.0)
        finish[task.name] = start[task.name] + task.mean
    length = max(finish.values(), default=0.0)
    latest = dict.fromkeys(finish, length)
    for task in reversed(ordered):
        for name in task.after:
            latest[name] = min(latest[name], latest[task.name] - task.mean)
    spans = {
        task.name: Span(start[task.name], finish[task.name], latest[task.name] - task.mean, latest[task.name])
        for task in ordered
    }
    critical, variance = _critical(ordered, spans, length)
    return Network(spans, length, critical, variance)


def _critical(ordered: Sequence[Task], spans: Mapping[str, Span], length: float) -> tuple[tuple[str, ...], float]:
    """Return the longest path that varies most, and its variance."""
    near = 1e-9 * max(1.0, length)
    best: dict[str, tuple[float, tuple[str, ...]]] = {}
    for task in ordered:
        begin = spans[task.name].earliest_start
        before = [best[name] for name in task.after if spans[name].earliest_finish >= begin - near]
        variance, path = max(before, default=(0.0, ()))
        best[task.name] = (variance + task.variance, (*path, task.name))
    ends = [best[task.name] for task in ordered if spans[task.name].earliest_finish >= length - near]
    variance, path = max(ends, default=(0.0, ()))
    return path, variance
