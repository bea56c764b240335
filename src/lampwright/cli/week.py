"""``lampwright week``: what to do when, and whether it will be done in time."""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter
from cyclopts.validators import Number
from rich.console import Console
from rich.table import Table

from lampwright.cli.options import AsJson, PieceFile, ShelfFile, ShopFile
from lampwright.findings.model import Severity
from lampwright.layout import lay_out
from lampwright.making import (
    DAY,
    Calendar,
    Hours,
    Week,
    cut_all,
    plan_week,
    read_done,
    read_shelf,
    read_shop,
    read_times,
    shopping_list,
    task_names,
)
from lampwright.piece import read_piece
from lampwright.piece.model import Work
from lampwright.units import format_quantity

Begin = Annotated[datetime.date, Parameter(help="The first day of work; the file's, else today.")]
FromHour = Annotated[
    float,
    Parameter(validator=Number(gte=0, lt=24), help="When work begins each day, such as 17.5; the file's, else 17."),
]
HoursADay = Annotated[
    float,
    Parameter(name="--hours", validator=Number(gt=0, lte=24), help="Hours of work each day; the file's, else 4."),
]
Helpers = Annotated[
    int, Parameter(validator=Number(gte=0, lte=50), help="How many work besides you; the file's, else none.")
]
TimesFile = Annotated[Path, Parameter(help="CSV file of your own times: task, least, likely, most.")]
DoneFile = Annotated[Path, Parameter(help="CSV file of what is done: task, done.")]


def week(
    piece: PieceFile,
    /,
    *,
    begin: Begin | None = None,
    from_hour: FromHour | None = None,
    hours: HoursADay | None = None,
    helpers: Helpers | None = None,
    times: TimesFile | None = None,
    done: DoneFile | None = None,
    shelf: ShelfFile | None = None,
    shop: ShopFile | None = None,
    as_json: AsJson = False,
) -> int:
    """Plan the days until the show: what to do when, what to order by when, and the chance of being ready.

    Exit code 1: by the most likely times it won't be ready by noon of the show's day.
    """
    read = read_piece(piece)
    layout = lay_out(read)
    on_shelf, sold = read_shelf(shelf, read.brief.name) if shelf else (), read_shop(shop) if shop else ()
    cuts = cut_all(layout, on_shelf, sold)
    bought = shopping_list(layout, cuts, on_shelf, sold)
    own = read_times(times, task_names()) if times else {}
    so_far = read_done(done, task_names()) if done else {}
    when = _hours(read.work, begin, from_hour, hours, helpers)
    plan = plan_week(layout, cuts, bought, when, own, so_far)
    if as_json:
        print(json.dumps(_plain(plan), indent=2, ensure_ascii=False))
    else:
        _print(plan)
    return 1 if plan.finding.severity is Severity.FAIL else 0


def _hours(
    work: Work, begin: datetime.date | None, from_hour: float | None, hours: float | None, helpers: int | None
) -> Hours:
    """Return when there is work: as the options say, else as the piece file does."""
    start = work.from_time if from_hour is None else from_hour * 3600
    length = min(work.hours if hours is None else hours * 3600, DAY - start)
    n_helper = work.helpers if helpers is None else helpers
    return Hours(begin or work.begin or datetime.date.today(), Calendar(start, length), 1 + n_helper)


def _print(plan: Week) -> None:
    console = Console(highlight=False)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for column in ("", "from", "to", "task", "who", "slack"):
        table.add_column(column)
    for slot in plan.schedule.slots:
        start, finish = (f"{plan.when(time):%a %d %b %H:%M}" for time in (slot.start, slot.finish))
        who = "wait" if slot.worker < 0 else "you" if slot.worker == 0 else f"helper {slot.worker}"
        slack = "late" if slot.slack < -60 else format_quantity(max(0.0, slot.slack) // 900 * 900, "time", 2)
        table.add_row("*" if slot.is_critical else "", start, finish, slot.task.name, who, slack)
    console.print(table)
    console.print("* a delay of this delays the end")
    console.print()
    for date in plan.order_by:
        what = date.arrival.removesuffix(" arrives").removesuffix(" arrive")
        console.print(
            f"{what}: even an order on the first day is late"
            if date.is_past
            else f"{what}: order by {date.day:%a %d %b}"
        )
    finding = plan.finding
    console.print(f"{finding.summary} ({finding.code} {finding.severity.value}): {finding.value}", style="bold")
    if finding.do:
        console.print(f"do: {finding.do}")


def _plain(plan: Week) -> dict[str, object]:
    return {
        "chance": plan.chance,
        "ready": plan.when(plan.schedule.finish).isoformat(),
        "needed": plan.when(plan.deadline).isoformat(),
        "tasks": [
            {
                "task": slot.task.name,
                "from": plan.when(slot.start).isoformat(),
                "to": plan.when(slot.finish).isoformat(),
                "worker": slot.worker,
                "slack_s": slot.slack,
                "critical": slot.is_critical,
            }
            for slot in plan.schedule.slots
        ],
        "order_by": {date.arrival: None if date.is_past else date.day.isoformat() for date in plan.order_by},
    }
