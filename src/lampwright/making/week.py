"""The days until the show: tasks made from the piece, planned, and the chance that they are done in time."""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from typing import Any

from lampwright.findings.model import Finding, Severity
from lampwright.layout.model import Layout
from lampwright.making.critical_path import Task
from lampwright.making.materials import MaterialCuts, harnesses_of
from lampwright.making.schedule import DAY, Calendar, Schedule, chance_in_time, schedule
from lampwright.making.shopping import ShoppingList
from lampwright.making.work_lists import ThreePoint
from lampwright.piece.model import SpanSection
from lampwright.units import format_quantity, parse

READY_BY = 12 * 3600.0
"""On the day of the show everything is there by noon (common practice, no source). [s]"""

SAFE_CHANCE = 0.9
"""With less the week is called tight, and an order is called late (common practice, no source)."""

ARRIVALS = {
    "tube": "tube arrives",
    "strip": "strip arrives",
    "wire": "wire and cord arrive",
    "cord": "wire and cord arrive",
}
"""By kind of material; all others come with the packs, or with the supplies where there are no packs."""

OTHER_ARRIVAL = "packs, boards and small parts arrive"
SUPPLY_ARRIVAL = "supplies, boards and small parts arrive"


@dataclass(frozen=True)
class Hours:
    """When there is work, and how many work."""

    begin: datetime.date
    calendar: Calendar
    n_worker: int


@dataclass(frozen=True)
class OrderDate:
    """The last day on which something can be ordered with the chance of being ready still safe."""

    arrival: str
    day: datetime.date
    is_past: bool
    """Whether even the first day is too late."""


@dataclass(frozen=True)
class Week:
    """The plan, and what it promises."""

    hours: Hours
    schedule: Schedule
    deadline: float  # from midnight of the first day [s]
    chance: float
    order_by: tuple[OrderDate, ...]
    finding: Finding

    def when(self, time: float) -> datetime.datetime:
        """Return a time of the plan as date and time of day, to the minute."""
        midnight = datetime.datetime.combine(self.hours.begin, datetime.time())
        return midnight + datetime.timedelta(minutes=round(time / 60))


def plan_week(
    layout: Layout,
    cuts: Sequence[MaterialCuts],
    bought: ShoppingList,
    hours: Hours,
    times: Mapping[str, ThreePoint] | None = None,
    done: Mapping[str, float] | None = None,
) -> Week:
    """Return the plan from the first day of ``hours`` on, for what isn't done yet."""
    tasks = tasks_of(layout, cuts, bought, times or {}, done or {})
    deadline = (layout.piece.brief.date - hours.begin).days * DAY + READY_BY
    planned = schedule(tasks, hours.calendar, hours.n_worker, deadline)
    chance = chance_in_time(tasks, hours.calendar, hours.n_worker, deadline)
    dates = tuple(_order_by(tasks, task, hours, deadline) for task in tasks if task.name in _arrivals())
    finding = _judge(layout, planned, deadline, chance)
    return Week(hours, planned, deadline, chance, dates, finding)


def tasks_of(
    layout: Layout,
    cuts: Sequence[MaterialCuts],
    bought: ShoppingList,
    times: Mapping[str, ThreePoint],
    done: Mapping[str, float],
) -> tuple[Task, ...]:
    """Return the tasks of a piece that aren't done, with their whole times; those it doesn't have are left out."""
    counts = count_units(layout, cuts)
    found: list[Task] = []
    for entry in _entries():
        if entry.unit == "delivery":
            points = _delivery(entry.name, bought)
        elif entry.unit == "show":
            whole = layout.piece.brief.standby + layout.piece.brief.run_time
            points = (whole, whole, whole)
        else:
            least, likely, most = times.get(entry.name, entry.time)
            count = counts[entry.unit]
            points = (least * count, likely * count, most * count)
        left = 1.0 - done.get(entry.name, 0.0)
        if points[2] * left > 0:
            least, likely, most = (each * left for each in points)
            found.append(Task(entry.name, entry.after, least, likely, most, entry.is_wait))
    return _bridged(found)


def task_names() -> tuple[str, ...]:
    """Return the names of all tasks that a piece may have."""
    return tuple(entry.name for entry in _entries())


def count_units(layout: Layout, cuts: Sequence[MaterialCuts]) -> Mapping[str, float]:
    """Return how many units of each sort of work a piece has.

    Solder joints are those of the joint list. Sealed places: each feed, each place where strip is cut and joined, both
    ends of a run.
    """
    bars = {kind: sum(len(each.plan.bars) for each in cuts if each.material.kind == kind) for kind in ARRIVALS}
    pieces = {
        kind: sum(len(bar.cuts) for each in cuts if each.material.kind == kind for bar in each.plan.bars)
        for kind in ARRIVALS
    }
    runs = [run for each in layout.circuits for run in each.runs]
    sections = [section for run in runs for section in run.sections]
    n_feed = sum(len(run.run.feeds) for run in runs)
    harnesses = harnesses_of(layout, cuts)
    n_joint = sum(row.is_strip_cut for harness in harnesses for row in harness.joints)
    return {
        "piece": 1,
        "member": len(layout.piece.members),
        "circuit": len(layout.circuits),
        "supply": sum(each.circuit.is_on_mains for each in layout.circuits),
        "piece on the mains": int(layout.piece.has_mains),
        "span": sum(isinstance(section.section, SpanSection) for section in sections),
        "metre of strip": sum(section.length for section in sections),
        "tube piece": pieces["tube"],
        "strip piece": pieces["strip"],
        "strip bar": bars["strip"],
        "wire piece": pieces["wire"],
        "solder joint": sum(harness.n_solder for harness in harnesses),
        "sealed place": n_feed + n_joint + 2 * len(runs),
    }


def _bridged(tasks: Sequence[Task]) -> tuple[Task, ...]:
    """Let tasks whose predecessors are left out come after what those came after."""
    there = {task.name for task in tasks}
    after = {entry.name: entry.after for entry in _entries()}

    def reach(name: str) -> tuple[str, ...]:
        return (name,) if name in there else tuple(far for each in after[name] for far in reach(each))

    return tuple(
        replace(task, after=tuple(dict.fromkeys(far for each in task.after for far in reach(each)))) for task in tasks
    )


def _delivery(arrival: str, bought: ShoppingList) -> ThreePoint:
    """Return how long this delivery takes; nothing where nothing is bought."""
    others = OTHER_ARRIVAL if any(line.kind == "pack" for line in bought.lines) else SUPPLY_ARRIVAL
    by_kind = {**ARRIVALS, "supply": SUPPLY_ARRIVAL}
    lines = [line for line in bought.lines if line.buy and by_kind.get(line.kind, others) == arrival]
    rule = _raw()["delivery"]
    found = [(0.0, 0.0, 0.0)]
    for line in lines:
        if line.days is None:
            least, likely, most = (parse(text, "time") for text in rule["unknown"])
            found.append((least, likely, most))
        else:
            found.append((line.days * DAY, line.days * DAY, rule["at_most"] * line.days * DAY))
    least, likely, most = (max(each) for each in zip(*found, strict=True))
    return (least, likely, most)


def _order_by(tasks: Sequence[Task], arrival: Task, hours: Hours, deadline: float) -> OrderDate:
    """Return the last day to order, the other tasks begun as early as they can be."""

    def is_safe(days: int) -> bool:
        later = replace(
            arrival,
            least=arrival.least + days * DAY,
            likely=arrival.likely + days * DAY,
            most=arrival.most + days * DAY,
        )
        changed = [later if task is arrival else task for task in tasks]
        return chance_in_time(changed, hours.calendar, hours.n_worker, deadline, 1000) >= SAFE_CHANCE

    low, high = -1, max(0, int(deadline // DAY)) + 1  # safe (or none is), not safe
    while high - low > 1:
        middle = (low + high) // 2
        if is_safe(middle):
            low = middle
        else:
            high = middle
    return OrderDate(arrival.name, hours.begin + datetime.timedelta(days=max(0, low)), low < 0)


def _judge(layout: Layout, planned: Schedule, deadline: float, chance: float) -> Finding:
    margin = deadline - planned.finish
    severity = Severity.FAIL if margin < 0 else Severity.WARN if chance < SAFE_CHANCE else Severity.PASS
    do = {
        Severity.FAIL: "begin earlier, work longer hours, find a helper, order sooner, or build less",
        Severity.WARN: "shorten what is on the critical path: order sooner, find a helper, work longer hours",
    }
    if deadline < 0:
        over = "the show's day is over by then"
        do[Severity.FAIL] = f"give --begin a day before the show's, or mend the brief's date: {over}"
    state = "late" if margin < 0 else "before noon of the show's day"
    return Finding(
        code="MAKING-003",
        severity=severity,
        subject=layout.piece.brief.name,
        summary=f"ready in time with a chance of {_percent(chance)}",
        value=f"{format_quantity(abs(margin) // 900 * 900, 'time', 2)} {state}",
        limit=f"in time, with a chance of at least {100 * SAFE_CHANCE:.0f} %",
        margin=None,
        do=do.get(severity, ""),
        basis="list rule over mean times; three-point estimates, simulated; times are common practice, no source",
    )


def _percent(chance: float) -> str:
    """Return a chance as far as some thousands of samples can tell it."""
    if chance > 0.995:
        return "more than 99 %"
    return "less than 1 %" if chance < 0.005 else f"{100 * chance:.0f} %"


@dataclass(frozen=True)
class _Entry:
    name: str
    unit: str
    time: ThreePoint
    after: tuple[str, ...]
    is_wait: bool


@cache
def _entries() -> tuple[_Entry, ...]:
    entries = []
    for row in _raw()["task"]:
        least, likely, most = (parse(text, "time") for text in row.get("time", ["0 s"] * 3))
        entries.append(
            _Entry(row["name"], row["unit"], (least, likely, most), tuple(row["after"]), row.get("wait", False))
        )
    return tuple(entries)


def _arrivals() -> frozenset[str]:
    return frozenset((*ARRIVALS.values(), OTHER_ARRIVAL, SUPPLY_ARRIVAL))


@cache
def _raw() -> dict[str, Any]:
    text = resources.files("lampwright.making").joinpath("data", "work.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
