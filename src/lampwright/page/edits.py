"""What a maker does on the page's form, as a change of the piece file's text."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from typing import Any

from lampwright.page.fields import Step, quoted, rewritten
from lampwright.page.form import Row
from lampwright.page.picks import pins_of
from lampwright.page.table_text import NoPlaceError, with_copy, with_key, without_entry, without_key
from lampwright.units.errors import MakerError, Problem

LONGEST_NAME = 40


def changed(text: str, row: Row, typed: str) -> str:
    """Return the text with another value of a key that stands in it; what is unchanged stays as it is written."""
    assert row.field is not None
    if typed == row.field.value:
        return text
    return rewritten(text, row.field, row.written(typed))


def added(text: str, row: Row, typed: str) -> str:
    """Return the text with a key that was left out; one that begins a table takes its example.

    Raises
    ------
    MakerError
        PAGE-014, the text has no place for it.
    """

    def add() -> str:
        table = _table_at(text, row.path[:-1])
        more = with_key(text, row.path, row.written(typed) if typed else row.example)
        for key, value in row.together:
            if key not in table:
                more = with_key(more, (*row.path[:-1], key), value)
        return more

    return _placed(add)


def taken_out(text: str, path: tuple[Step, ...], row: Row | None) -> str:
    """Return the text without a key and what belongs to it, or without one of several like tables.

    Parameters
    ----------
    row
        The key's row; None for a table.

    Raises
    ------
    MakerError
        PAGE-014, it can't be taken out alone.
    """

    def take() -> str:
        if isinstance(path[-1], int):
            return without_entry(text, path)
        less, table = text, _table_at(text, path[:-1])
        for key, _ in reversed([] if row is None else row.together):
            if key in table:
                less = without_key(less, (*path[:-1], key))
        return without_key(less, path)

    return _placed(take)


def copied(text: str, path: tuple[Step, ...]) -> str:
    """Return the text with a copy of one of several like tables behind it, by a name and on a pin of its own.

    Raises
    ------
    MakerError
        PAGE-014, the text has no place for it.
    """
    like = _table_at(text, path[:-1])
    entry = like[path[-1]]
    changes = {}
    if isinstance(entry.get("name"), str):
        changes["name"] = quoted(_fresh_name(entry["name"], [str(each.get("name")) for each in like]))
    if "pin" in entry:
        taken = [each.get("pin") for each in like]
        free = [pin for pin in pins_of(_table_at(text, path[:2])) if pin not in taken]
        changes |= {"pin": quoted(free[0])} if free else {}
    return _placed(lambda: with_copy(text, path, changes))


def _table_at(text: str, path: tuple[Step, ...]) -> Any:
    """Return the entries at a path; none where there is no such table."""
    here: Any = tomllib.loads(text)
    for step in path:
        here = here[step] if isinstance(step, int) else here.get(step, {})
    return here


def _fresh_name(name: str, taken: list[str]) -> str:
    """Return a name that isn't taken: with a letter, because numbers are those of a pattern's members."""
    names = (f"{name[: LONGEST_NAME - 2]} {letter}" for letter in "bcdefghijklmnopqrstuvwxyz")
    return next((each for each in names if each not in taken), f"{name} b")


def _placed(edit: Callable[[], str]) -> str:
    try:
        return edit()
    except NoPlaceError:
        raise MakerError([_no_place()]) from None


def _no_place() -> Problem:
    return Problem(
        "PAGE-014",
        "the file is written in a way that this change has no place in",
        "a table of dotted keys, or a line with more on it",
        "changes to tables with a header or in { }, each key with a line or a comma of its own",
        'make this change in the file, save it, and press "Take the file"',
    )
