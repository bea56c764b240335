"""The maker's own times, and what is done so far, as CSV files."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path

from lampwright.making.lists import CODE
from lampwright.piece.report import did_you_mean
from lampwright.units.lists import ListTable, Row

TIMES_COLUMNS = ("task", "least", "likely", "most")
DONE_COLUMNS = ("task", "done")

ThreePoint = tuple[float, float, float]
"""Least, most likely and most time. [s]"""


def read_times(path: Path, known: Collection[str]) -> Mapping[str, ThreePoint]:
    """Return the maker's own times for one unit of each task: columns task, least, likely, most.

    Raises
    ------
    MakerError
        MAKING-001 with all that can't be read; a task that isn't ``known`` is one of it.
    """
    table = ListTable(path, TIMES_COLUMNS, CODE)
    times: dict[str, ThreePoint] = {}
    for row in table:
        name = _task(table, row, known)
        values = [table.quantity(row, column, "time", 'a time such as "5 min"') for column in TIMES_COLUMNS[1:]]
        least, likely, most = (value if value is not None else -1.0 for value in values)
        if 0 <= least <= likely <= most:
            times[name] = (least, likely, most)
        elif None not in values:
            cells = ", ".join(row[1].get(column, "") for column in TIMES_COLUMNS[1:])
            table.fault(row[0], "", "these times don't rise", cells, "write least, likely, most", "three times, rising")
        elif not all(row[1].get(column) for column in TIMES_COLUMNS[1:]):
            table.fault(row[0], "", "a time is missing", "an empty cell", "write least, likely, most", "three times")
    table.finish()
    return times


def read_done(path: Path, known: Collection[str]) -> Mapping[str, float]:
    """Return the share of each task that is done: columns task, done; an empty cell says all of it. [1]

    Raises
    ------
    MakerError
        MAKING-001 with all that can't be read; a task that isn't ``known`` is one of it.
    """
    table = ListTable(path, DONE_COLUMNS, CODE)
    done: dict[str, float] = {}
    for row in table:
        name = _task(table, row, known)
        allowed = 'a share from "0 %" to "100 %"'
        share = table.quantity(row, "done", "share", allowed)
        if share is not None and not 0 <= share <= 1:
            cell = row[1]["done"]
            table.fault(row[0], cell, "this is no share of a task", f'"{cell}"', "write how much is done", allowed)
        done[name] = 1.0 if share is None else share
    table.finish()
    return done


def _task(table: ListTable, row: Row, known: Collection[str]) -> str:
    name = table.text(row, "task")
    if name and name not in known:
        do = did_you_mean(name, known, "take a name from the week's own list")
        table.fault(row[0], name, f'there is no task "{name}"', f'"{name}"', do, "the tasks that the week lists")
    return name
