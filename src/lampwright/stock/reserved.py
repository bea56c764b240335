"""What pieces have spoken for: reserved, issued, given back. No lot is spoken for twice."""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import astuple, dataclass, replace

from lampwright.stock.book import StockBook
from lampwright.stock.lots import find_lots, lot_of, note, now, reserved_lots, write_lot
from lampwright.stock.model import USABLE, Lot, NewLot
from lampwright.units import MakerError, Problem


@dataclass(frozen=True)
class Reservation:
    """So many of a lot, kept for a piece."""

    piece: str
    lot: Lot
    count: int


@dataclass(frozen=True)
class Rest:
    """What is left of one thing of a lot once a piece is cut from it."""

    lot: int
    length: float
    """[m]"""
    bent: str = ""
    """Of bent tube: its shape then, as :attr:`BentTube.text` says it."""


def free_lots(book: StockBook, piece: str = "") -> tuple[Lot, ...]:
    """Return the lots that a piece may plan with: usable ones, less what other pieces have spoken for.

    A lot's ``count`` is then how many of it are free for this piece, none of them reserved.
    """
    kept = book.rows("SELECT lot, count FROM reservation WHERE piece = ?", (piece,))
    own = {row["lot"]: row["count"] for row in kept}
    found = []
    for lot in find_lots(book):
        free = lot.free + own.get(lot.number, 0)
        if free > 0 and lot.what.condition in USABLE:
            found.append(replace(lot, what=replace(lot.what, count=free), reserved=0))
    return tuple(found)


def reserve(book: StockBook, piece: str, wanted: Mapping[int, int], rests: Sequence[Rest] = ()) -> None:
    """Keep so many of each lot, by number, for a piece; in place of what it had before.

    Parameters
    ----------
    rests
        What will be left of them: it is on the shelf again when they are issued.

    Raises
    ------
    MakerError
        STOCK-003: a lot has fewer than that left, or there is none; nothing is changed then.
    """
    with book.change() as connection:
        _forget(connection, piece)
        for number, count in sorted(wanted.items()):
            lot = lot_of(book, number)
            if count > lot.free:
                raise MakerError([_taken(lot, count)])
            values = (piece, number, count, now())
            connection.execute("INSERT INTO reservation (piece, lot, count, at) VALUES (?, ?, ?, ?)", values)
            note(connection, number, "reserved", count, piece, "")
        left = [(piece, *astuple(rest), count) for rest, count in Counter(rests).items()]
        connection.executemany("INSERT INTO rest (piece, lot, length, bent, count) VALUES (?, ?, ?, ?, ?)", left)


def issue(book: StockBook, piece: str) -> tuple[Reservation, ...]:
    """Hand a piece all that is reserved for it: it leaves the shelf. Return what that was.

    What is left of lengths that are cut stays there, as lots of its own.

    Raises
    ------
    MakerError
        STOCK-003: nothing is reserved for it.
    """
    with book.change() as connection:
        handed = _must_have(book, piece)
        rests = connection.execute("SELECT lot, length, bent, count FROM rest WHERE piece = ?", (piece,)).fetchall()
        _forget(connection, piece)
        for each in handed:
            connection.execute("UPDATE lot SET count = count - ? WHERE number = ?", (each.count, each.lot.number))
            note(connection, each.lot.number, "issued", -each.count, piece, "")
        for rest in rests:
            write_lot(connection, _left_of(lot_of(book, rest["lot"]), *tuple(rest)[1:]), "left over")
    return handed


def release(book: StockBook, piece: str) -> tuple[Reservation, ...]:
    """Give up all that is reserved for a piece. Return what that was.

    Raises
    ------
    MakerError
        STOCK-003: nothing is reserved for it.
    """
    with book.change() as connection:
        freed = _must_have(book, piece)
        _forget(connection, piece)
        for each in freed:
            note(connection, each.lot.number, "released", each.count, piece, "")
    return freed


def reservations(book: StockBook, piece: str = "") -> tuple[Reservation, ...]:
    """Return what is kept for a piece, or for all."""
    where, values = ("WHERE piece = ?", (piece,)) if piece else ("", ())
    found = book.rows(f"SELECT piece, lot, count FROM reservation {where} ORDER BY piece, lot", values)
    lots = {lot.number: lot for lot in reserved_lots(book)} if found else {}
    return tuple(Reservation(row["piece"], lots[row["lot"]], row["count"]) for row in found)


def left_over(book: StockBook, piece: str) -> tuple[tuple[Rest, int], ...]:
    """Return what will be left of what is kept for a piece, and how many of each."""
    found = book.rows("SELECT lot, length, bent, count FROM rest WHERE piece = ? ORDER BY lot, length", (piece,))
    return tuple((Rest(*tuple(row)[:3]), row["count"]) for row in found)


def _forget(connection: sqlite3.Connection, piece: str) -> None:
    for table in ("rest", "reservation"):
        connection.execute(f"DELETE FROM {table} WHERE piece = ?", (piece,))


def _left_of(lot: Lot, length: float, bent: str, count: int) -> NewLot:
    """Return what is left of so many of a lot: as it was, but shorter, and worth as much less."""
    what = lot.what
    cost = None if what.cost is None or what.length is None else round(what.cost * length / what.length)
    said = f"left of lot {lot.number}"
    note_text = f"{said}; {what.note}" if what.note else said
    return replace(what, count=count, length=length, bent=bent, cost=cost, note=note_text)


def _must_have(book: StockBook, piece: str) -> tuple[Reservation, ...]:
    found = reservations(book, piece)
    if not found:
        names = sorted({each.piece for each in reservations(book)})
        allowed = ", ".join(f'"{name}"' for name in names) or "a piece that has reserved something"
        do = "reserve first: lampwright shelf reserve PIECE"
        raise MakerError([Problem("STOCK-003", "nothing is reserved for this piece", f'"{piece}"', allowed, do)])
    return found


def _taken(lot: Lot, wanted: int) -> Problem:
    summary = f"lot {lot.number}, {lot.what.part}, is spoken for by another piece"
    do = "plan again: lampwright shelf reserve takes what is free, lampwright cuts tells what is missing"
    return Problem("STOCK-003", summary, f"{lot.free} free", f"{wanted} at least", do)
