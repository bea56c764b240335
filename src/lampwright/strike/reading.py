"""A filled form read: each cell judged, and what is wrong told in the same words wherever it was written."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from pathlib import Path

from lampwright.faults.kinds import FaultKind, Place
from lampwright.faults.wear import AT_PLACES
from lampwright.stock import Failure
from lampwright.strike.form import COLUMNS, SOUND, Entry, Form, FormFailure, FormRow, Thing, hows
from lampwright.strike.photos import ALLOWED, wrong_photo
from lampwright.units import Problem, UnitError, format_quantity, parse
from lampwright.units.lists import ListTable, Row

CODE = "STRIKE-001"

LONGEST_CELL = 300
"""Characters."""

PLACED = {
    "strip": 'a pixel of the run such as "137", or a place along it such as "2.3 m"',
    "span": 'a place along it such as "0.4 m"',
    "member": 'a place along it such as "0.4 m"',
    "fixing": 'a place along its member such as "0.4 m"',
}
"""Sorts of things that fail at a place, and how it is told; other things are small or have it in their name."""

TIMED = frozenset({"pack", "supply", "outlet", "plug", "lead", "supply lead", "board", "start"})
"""Sorts of things of which somebody may know when they failed."""


@dataclass(frozen=True)
class CellFault:
    """One cell that can't be read."""

    column: str
    cell: str
    summary: str
    do: str
    allowed: str

    def problem(self) -> Problem:
        """Return it for whoever has just typed it."""
        return Problem(CODE, self.summary, f'"{self.cell}"', self.allowed, self.do)


def read_form(path: Path, form: Form) -> tuple[FormFailure, ...]:
    """Return what a filled form says has failed.

    Raises
    ------
    MakerError
        STRIKE-001 with all that can't be read, each at its line and column.
    """
    return failures_of(form, read_entries(path, form))


def failures_of(form: Form, entries: Mapping[Thing, Sequence[Entry]]) -> tuple[FormFailure, ...]:
    """Return what failed, in the order of the form; the entries are ones that were read without fault."""
    rows = {row.key: row for row in form.rows}
    judged = [judge(rows[key], entry, form)[0] for key, each in entries.items() for entry in each]
    return tuple(failure for failure in judged if failure is not None)


def read_entries(path: Path, form: Form) -> dict[Thing, tuple[Entry, ...]]:
    """Return what a form says of each thing of the piece, in the order of the piece.

    Raises
    ------
    MakerError
        STRIKE-001 with all that can't be read, each at its line and column.
    """
    table = ListTable(path, COLUMNS, CODE)
    known = {row.key: row for row in form.rows}
    entries: dict[Thing, list[Entry]] = {key: [] for key in known}
    for row in table:
        entry = _entry(row)
        key = row[1].get("circuit", ""), row[1].get("thing", "")
        if entry == Entry():
            continue
        if key not in known:
            near = difflib.get_close_matches(key[1], [thing for _, thing in known], n=1, cutoff=0.4)
            do = f'did you mean "{near[0]}"?' if near else "take the form that lampwright strike writes for this piece"
            summary, allowed = "this piece has no such thing", "the things of the form"
            table.fault(row[0], key[1], summary, f'"{key[1]}"', do, allowed, "thing")
            continue
        for fault in judge(known[key], entry, form)[1]:
            table.fault(row[0], fault.cell, fault.summary, f'"{fault.cell}"', fault.do, fault.allowed, fault.column)
        entries[key].append(entry)
    table.finish()
    return {key: tidied(found) for key, found in entries.items()}


def tidied(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Return what is said of a thing without what says nothing, and without "sound" where it failed."""
    cleaned = [Entry(*(_cell(getattr(entry, each.name)) for each in fields(Entry))) for entry in entries]
    spoken = [Entry(e.failed.lower(), e.at, e.minute, e.photo, e.note) for e in cleaned if e != Entry()]
    has_failed = any(entry.failed not in ("", SOUND) for entry in spoken)
    return tuple(dict.fromkeys(entry for entry in spoken if not (has_failed and entry == Entry(SOUND))))


def _cell(text: str) -> str:
    """Return a cell on one line, without signs that nobody sees."""
    return " ".join("".join(sign for sign in text if sign.isprintable() or sign.isspace()).split())


def _entry(row: Row) -> Entry:
    cells = row[1]
    return Entry(*(cells.get(each.name) or "" for each in fields(Entry)))


def judge(row: FormRow, entry: Entry, form: Form) -> tuple[FormFailure | None, tuple[CellFault, ...]]:
    """Return the failure that is written of a thing, and what of it can't be read.

    Parameters
    ----------
    entry
        "at" says where on the strip: a pixel of the run ("137") or a place along it ("2.3 m"); on a span, a member or
        its ties a place along it.
    """
    faults = [
        CellFault(name, cell[:LONGEST_CELL], "this is too long", "say it in fewer words", f"{LONGEST_CELL} characters")
        for name, cell in ((each.name, getattr(entry, each.name)) for each in fields(Entry))
        if len(cell) > LONGEST_CELL
    ]
    if faults:
        return None, tuple(faults)
    how = entry.failed.lower()
    if how in ("", SOUND):
        if entry.at or entry.minute:
            do = f'write how it failed, or "{SOUND}" and nothing of where and when'
            faults.append(CellFault("failed", entry.failed, "where or when, but not how", do, _ways(row)))
        faults += _photo(entry, form)
        return None, tuple(faults)
    if how not in hows()[row.sort]:
        near = difflib.get_close_matches(how, hows()[row.sort], n=1, cutoff=0.4)
        do = f'did you mean "{near[0]}"?' if near else "write one of these"
        faults.append(CellFault("failed", entry.failed, f"{a_sort(row)} doesn't fail like this", do, _ways(row)))
        return None, tuple(faults)
    pixel, at = _place(row, entry, form, faults)
    minute = _minute(entry, faults)
    faults += _photo(entry, form)
    kind = hows()[row.sort][how] or how.replace(" ", "-")
    place = _place_taught(row, kind, pixel)
    failure = Failure(kind, row.circuit, row.thing, at, how, minute, entry.photo, entry.note, place)
    return (None if faults else FormFailure(row, failure, pixel)), tuple(faults)


def _place_taught(row: FormRow, kind: str, pixel: int | None) -> str:
    """Return the place whose rate a failure teaches; empty where its kind has no places."""
    if row.place is None or kind not in AT_PLACES:
        return ""
    is_head = row.sort == "strip" and kind == FaultKind.DATA_OPEN.value and pixel == 0
    return (Place.HEAD if is_head else row.place).value


def a_sort(row: FormRow) -> str:
    """Return what a thing is, such as "a pack" or "an outlet"."""
    return f"an {row.sort}" if row.sort[0] in "aeiou" else f"a {row.sort}"


def _ways(row: FormRow) -> str:
    return ", ".join(f'"{way}"' for way in hows()[row.sort])


def _place(row: FormRow, entry: Entry, form: Form, faults: list[CellFault]) -> tuple[int | None, float | None]:
    """Return pixel and metres along the run, or along the thing, at which it failed; ``None``: nobody has said."""
    text = entry.at
    if not text:
        return None, None
    if row.sort not in PLACED:
        do, allowed = "leave it empty; say more in the note", "nothing"
        faults.append(CellFault("at", text, f"{a_sort(row)} has no place of its own", do, allowed))
        return None, None
    number = text.lower().removeprefix("pixel").strip()  # as the program itself says it
    is_count = row.sort == "strip" and number.isascii() and number.isdigit() and len(number) <= 9
    metres = 0.0
    if not is_count:
        try:
            metres = parse(text, "length")
        except UnitError as error:
            faults.append(CellFault("at", text, error.problem.summary, error.problem.do, PLACED[row.sort]))
            return None, None
    if row.sort != "strip":
        if metres < 0:
            faults.append(CellFault("at", text, "this is before its beginning", "count from its start", "0 m and more"))
        return None, metres
    pitch = form.pitches[row.circuit, row.run]
    pixel = int(number) if is_count else int(metres / pitch + 1e-6) if metres >= 0 else -1
    last = row.first + row.n_pixel - 1
    if not row.first <= pixel <= last:
        reach = f"{format_quantity(row.first * pitch, 'length')} to {format_quantity((last + 1) * pitch, 'length')}"
        allowed = f"pixels {row.first} to {last}, {reach}"
        faults.append(CellFault("at", text, "this isn't on that strip", "count from the head of the run", allowed))
        return None, None
    return pixel, pixel * pitch


def _minute(entry: Entry, faults: list[CellFault]) -> float | None:
    text = entry.minute
    if not text:
        return None
    if text.isascii() and text.isdigit() and len(text) <= 5:
        return float(text)
    do, allowed = "write whole minutes after switching on", 'such as "95"'
    faults.append(CellFault("minute", text, "these are no minutes", do, allowed))
    return None


def _photo(entry: Entry, form: Form) -> list[CellFault]:
    wrong = wrong_photo(form.folder, entry.photo) if entry.photo else None
    return [] if wrong is None else [CellFault("photo", entry.photo, wrong.summary, wrong.do, ALLOWED)]
