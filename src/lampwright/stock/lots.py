"""Lots: added, taken, counted, measured, found again; each change leaves a line of history."""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Sequence
from dataclasses import fields, replace

from lampwright.stock.book import StockBook
from lampwright.stock.model import Entry, Lot, NewLot
from lampwright.units import MakerError, Problem

COLUMNS = tuple(field.name for field in fields(NewLot))

SELECT = f"""
    SELECT number, {", ".join(COLUMNS)}, added,
        (SELECT coalesce(sum(count), 0) FROM reservation WHERE lot = number) AS reserved
    FROM lot
"""


def add_lot(book: StockBook, lot: NewLot) -> int:
    """Book a new lot in; return its number."""
    with book.change() as connection:
        return write_lot(connection, lot, "added")


def write_lot(connection: sqlite3.Connection, lot: NewLot, what: str) -> int:
    """Write a lot within a change that goes on; return its number."""
    marks = ", ".join("?" * (len(COLUMNS) + 1))
    values = [getattr(lot, name) for name in COLUMNS]
    query = f"INSERT INTO lot ({', '.join(COLUMNS)}, added) VALUES ({marks})"
    number = connection.execute(query, (*values, today())).lastrowid
    assert number is not None
    note(connection, number, what, lot.count, lot.origin, lot.note)
    return number


def take_from(book: StockBook, number: int, count: int, note_text: str = "") -> Lot:
    """Take some of a lot for good; return what is left of it.

    Raises
    ------
    MakerError
        STOCK-003: no such lot, or fewer of it are free.
    """
    with book.change() as connection:
        lot = _lot(connection, number)
        if count > lot.free:
            raise MakerError([_too_few(lot, count)])
        connection.execute("UPDATE lot SET count = count - ? WHERE number = ?", (count, number))
        note(connection, number, "taken", -count, "", note_text)
        return _lot(connection, number)


def count_lot(book: StockBook, number: int, count: int) -> Lot:
    """Write down how many there really are.

    Raises
    ------
    MakerError
        STOCK-003: no such lot, or more of it are spoken for than were counted.
    """
    with book.change() as connection:
        lot = _lot(connection, number)
        if count < lot.reserved:
            raise MakerError([_too_few(lot, lot.reserved, counted=count)])
        connection.execute("UPDATE lot SET count = ? WHERE number = ?", (count, number))
        note(connection, number, "counted", count - lot.what.count, "", "")
        return _lot(connection, number)


def measure_lot(book: StockBook, number: int, changed: NewLot, says: str) -> Lot:
    """Write down what was measured or seen of a lot: its place, condition, cycles, capacity, clock error, sleeve.

    Raises
    ------
    MakerError
        STOCK-003: no such lot.
    """
    with book.change() as connection:
        lot = _lot(connection, number)
        kept = replace(changed, part=lot.what.part, count=lot.what.count, length=lot.what.length)
        places = ", ".join(f"{name} = ?" for name in COLUMNS)
        values = [getattr(kept, name) for name in COLUMNS]
        connection.execute(f"UPDATE lot SET {places} WHERE number = ?", (*values, number))
        note(connection, number, "measured", 0, "", says)
        return _lot(connection, number)


def lot_of(book: StockBook, number: int) -> Lot:
    """Return a lot by its number.

    Raises
    ------
    MakerError
        STOCK-003: there is none.
    """
    found = book.rows(f"{SELECT} WHERE number = ?", (number,))
    if not found:
        raise MakerError([_no_lot(number)])
    return as_lot(found[0])


def find_lots(book: StockBook, part: str = "", *, gone: bool = False) -> tuple[Lot, ...]:
    """Return the lots of a part, or all; ``gone`` those too of which nothing is left."""
    conditions = [text for text, holds in (("part = ?", bool(part)), ("count > 0", not gone)) if holds]
    where = f"WHERE {' AND '.join(conditions)}" if conditions else ""
    values: Sequence[object] = (part,) if part else ()
    return tuple(as_lot(row) for row in book.rows(f"{SELECT} {where} ORDER BY part, length DESC, number", values))


def reserved_lots(book: StockBook) -> tuple[Lot, ...]:
    """Return the lots of which something is reserved."""
    found = book.rows(f"{SELECT} WHERE number IN (SELECT lot FROM reservation) ORDER BY number")
    return tuple(as_lot(row) for row in found)


def history(book: StockBook, number: int) -> tuple[Entry, ...]:
    """Return all that happened to a lot, oldest first."""
    lot_of(book, number)
    found = book.rows("SELECT at, what, count, piece, note FROM entry WHERE lot = ? ORDER BY id", (number,))
    return tuple(Entry(*row) for row in found)


def as_lot(row: sqlite3.Row) -> Lot:
    """Return the lot of a row of ``SELECT``."""
    number, *what, added, reserved = row  # by place, in the order of SELECT: ten thousand lots are read at once
    return Lot(number, NewLot(*what), datetime.date.fromisoformat(added), reserved)


def note(connection: sqlite3.Connection, lot: int, what: str, count: int, piece: str, text: str) -> None:
    """Write a line of history."""
    values = (lot, now(), what, count, piece, text)
    connection.execute("INSERT INTO entry (lot, at, what, count, piece, note) VALUES (?, ?, ?, ?, ?, ?)", values)


def now() -> str:
    """Return date and time, ISO 8601, UTC."""
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds")


def today() -> str:
    """Return the date here, ISO 8601."""
    return datetime.datetime.now().astimezone().date().isoformat()


def _lot(connection: sqlite3.Connection, number: int) -> Lot:
    row = connection.execute(f"{SELECT} WHERE number = ?", (number,)).fetchone()
    if row is None:
        raise MakerError([_no_lot(number)])
    return as_lot(row)


def _no_lot(number: int) -> Problem:
    do = "take a number from lampwright shelf list --all"
    return Problem("STOCK-003", f"there is no lot {number}", str(number), "a number of the book", do)


def _too_few(lot: Lot, wanted: int, counted: int | None = None) -> Problem:
    there = lot.what.count if counted is None else counted
    spoken = f", {lot.reserved} of them spoken for" if lot.reserved else ""
    summary = f"lot {lot.number}, {lot.what.part}, has too few"
    do = "take fewer, or release what a piece no longer needs: lampwright shelf release PIECE"
    return Problem("STOCK-003", summary, f"{there} there{spoken}", f"{wanted} at least", do)
