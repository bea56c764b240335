"""The whole book as plain files, lots from such a file, a backup and the way back."""

from __future__ import annotations

import csv
import io
import sqlite3
from collections.abc import Callable, Sequence
from contextlib import closing, suppress
from dataclasses import astuple
from pathlib import Path

from lampwright.stock.bent import BentTube, bent_from_text
from lampwright.stock.book import StockBook, is_stock_book, open_stock, told
from lampwright.stock.inspected import inspections
from lampwright.stock.lots import find_lots, write_lot
from lampwright.stock.model import CONDITIONS, Lot, NewLot
from lampwright.stock.reserved import left_over, reservations
from lampwright.units import MakerError, Problem, format_quantity
from lampwright.units.lists import ListTable, Row
from lampwright.units.table import Kind
from lampwright.written import write_whole

CODE = "STOCK-004"

LOT_COLUMNS = (
    "part",
    "count",
    "length",
    "place",
    "cost",
    "condition",
    "note",
    "origin",
    "joints",
    "sleeve",
    "cycles",
    "capacity",
    "clock_error",
    "bent",
    "pixels",
    "volts",
    "far",
    "white",
    "dark",
)
"""Of a list that is brought in; what is written out has the number, the date and what is reserved besides."""


def export_book(book: StockBook, folder: Path) -> tuple[Path, ...]:
    """Write everything into plain files: lots, history, reserved, rests, inspections, watched, failures, each as .csv.

    Raises
    ------
    OSError
        That names the file which can't be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    found, kept = inspections(book), reservations(book)
    tables: dict[str, tuple[Sequence[str], list[Sequence[object]]]] = {
        "lots": (
            ("number", *LOT_COLUMNS, "added", "reserved"),
            [(lot.number, *lot_cells(lot), lot.added, lot.reserved) for lot in find_lots(book, gone=True)],
        ),
        "history": (
            ("lot", "at", "what", "count", "piece", "note"),
            [tuple(row) for row in book.rows("SELECT lot, at, what, count, piece, note FROM entry ORDER BY id")],
        ),
        "reserved": (
            ("piece", "lot", "part", "count"),
            [(each.piece, each.lot.number, each.lot.what.part, each.count) for each in kept],
        ),
        "rests": (
            ("piece", "lot", "count", "length", "bent"),
            [
                (name, rest.lot, count, format_quantity(rest.length, "length", 5), rest.bent)
                for name in sorted({each.piece for each in kept})
                for rest, count in left_over(book, name)
            ],
        ),
        "inspections": (
            ("piece", "date", "nights", "hours", "note"),
            [(each.piece, each.date, each.nights, each.hours, each.note) for each in found],
        ),
        "watched": (
            ("piece", "date", "kind", "place", "amount"),
            [
                (each.piece, each.date, kind, place, amount)
                for each in found
                for (kind, place), amount in each.watched.items()
            ],
        ),
        "failures": (
            ("piece", "date", "kind", "circuit", "subject", "at", "how", "minute", "photo", "note", "place"),
            [(each.piece, each.date, *astuple(f)) for each in found for f in each.failures],
        ),
    }
    written = []
    for name, (header, rows) in tables.items():
        path = folder / f"{name}.csv"
        write_whole(path, _csv(header, rows))
        written.append(path)
    return tuple(written)


def _csv(header: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([["" if cell is None else cell for cell in row] for row in rows])
    return text.getvalue()


def lot_cells(lot: Lot) -> tuple[str, ...]:
    """Return a lot as a list says it, in the order of ``LOT_COLUMNS``."""
    what = lot.what

    def text(value: float | None, say: Callable[[float], str]) -> str:
        return "" if value is None else say(value)

    return (
        what.part,
        str(what.count),
        text(what.length, lambda value: format_quantity(value, "length", 5)),
        what.place,
        text(what.cost, lambda value: f"{value / 100:.2f}"),
        what.condition,
        what.note,
        what.origin,
        str(what.joints),
        what.sleeve,
        text(what.cycles, lambda value: f"{value:g}"),
        text(what.capacity, lambda value: format_quantity(value, "charge", 4)),
        text(what.clock_error, lambda value: f"{value * 1e6:g} ppm"),
        what.bent,
        text(what.pixels, lambda value: f"{value:g}"),
        text(what.volts, lambda value: format_quantity(value, "voltage", 4)),
        text(what.far, lambda value: format_quantity(value, "voltage", 4)),
        text(what.white, lambda value: format_quantity(value, "current", 4)),
        text(what.dark, lambda value: format_quantity(value, "current", 4)),
    )


def read_lots(path: Path) -> tuple[NewLot, ...]:
    """Return the lots of a list; all columns but the part may be empty or missing.

    Raises
    ------
    MakerError
        STOCK-004 with all that can't be read, each at its line and column.
    """
    table = ListTable(path, ("part", *LOT_COLUMNS[1:], "number", "added", "reserved"), CODE)
    lots = tuple(_lot(table, row) for row in table)
    table.finish()
    return lots


def _lot(table: ListTable, row: Row) -> NewLot:
    cells = row[1]
    condition = cells.get("condition") or "good"
    if condition not in CONDITIONS:
        do, allowed = "write one of these", ", ".join(CONDITIONS)
        table.fault(row[0], condition, "there is no such condition", f'"{condition}"', do, allowed)
    cycles = table.whole(row, "cycles", -1, least=0)
    bent = _bent(table, row)
    return NewLot(
        part=table.text(row, "part"),
        count=table.whole(row, "count", 1),
        length=table.length(row) if bent is None else bent.length,
        place=cells.get("place", ""),
        cost=table.price(row, "cost"),
        condition=condition,
        note=cells.get("note", ""),
        origin=cells.get("origin", ""),
        joints=table.whole(row, "joints", 0, least=0),
        sleeve=cells.get("sleeve", ""),
        cycles=None if cycles < 0 else float(cycles),
        capacity=_above_zero(table, row, "capacity", "charge", 'a charge such as "9.1 Ah"'),
        clock_error=table.quantity(row, "clock_error", "share", 'a share such as "35 ppm" or "0.4 %"'),
        bent="" if bent is None else bent.text,
        pixels=table.whole(row, "pixels", 0) or None,
        volts=_above_zero(table, row, "volts", "voltage", 'a voltage such as "4.98 V"'),
        far=_above_zero(table, row, "far", "voltage", 'a voltage such as "4.61 V"'),
        white=_above_zero(table, row, "white", "current", 'a current such as "1.9 A"'),
        dark=_above_zero(table, row, "dark", "current", 'a current such as "42 mA"'),
    )


def _above_zero(table: ListTable, row: Row, column: str, kind: Kind, allowed: str) -> float | None:
    """Return a quantity that is more than nothing."""
    value = table.quantity(row, column, kind, allowed)
    if value is not None and value <= 0:
        cell = row[1][column]
        table.fault(row[0], cell, "this is too small", f'"{cell}"', "write what the meter said", allowed)
    return value


def _bent(table: ListTable, row: Row) -> BentTube | None:
    """Return to what shape tube is bent; its length follows from that."""
    text = row[1].get("bent", "")
    if not text:
        return None
    try:
        return bent_from_text(text)
    except MakerError as error:
        (problem,) = error.problems
        table.fault(row[0], text, problem.summary, problem.found, problem.do, problem.allowed)
        return None


def add_lots(book: StockBook, lots: Sequence[NewLot]) -> None:
    """Book in all of these lots, or none of them."""
    with book.change() as connection:
        for lot in lots:
            write_lot(connection, lot, "added")


def back_up(book: StockBook, path: Path) -> None:
    """Copy the book into one file, whole or not at all; an older backup that stood there is replaced.

    Raises
    ------
    MakerError
        STOCK-002 where it can't be written, or where something stands that is no stock book.
    """
    if path.is_dir() or (path.exists() and not is_stock_book(path)):
        found = "a folder" if path.is_dir() else "a file that is no stock book"
        do = "name a file that is not there yet, such as backup.db"
        raise MakerError([Problem("STOCK-002", f"{path} stays as it is", found, "a new file, or an older backup", do)])
    beside = path.with_name(f".{path.name}.part")
    with suppress(OSError):
        beside.unlink()
    try:
        book.copy_to(beside)
        with closing(sqlite3.connect(beside)) as copied:  # one file, with nothing beside it
            copied.execute("PRAGMA journal_mode = DELETE")
        beside.replace(path)
    except OSError as error:
        do = "see to the folder and its rights, then try again"
        raise MakerError([Problem("STOCK-002", f"{path} can't be written", str(error), "a file", do)]) from error
    finally:
        with suppress(OSError):
            beside.unlink()


def restore(backup: Path, path: Path) -> Path | None:
    """Put a backup in the book's place; return where the book that stood there is kept now.

    Raises
    ------
    MakerError
        STOCK-001: the backup is no stock book, or damaged; the book is left as it is.
    """
    if not is_stock_book(backup):
        do = "write the path of a backup that lampwright shelf backup made"
        raise MakerError([Problem("STOCK-001", f"{backup} is no backup", "no stock book", "a stock book", do)])
    with open_stock(backup) as source:
        if (verdict := source.rows("PRAGMA integrity_check")[0][0]) != "ok":
            do = "take an older backup"
            raise MakerError([Problem("STOCK-001", f"{backup} is damaged", str(verdict), "a whole backup", do)])
        kept = None
        if path.exists():
            kept = _unused(path)
            if is_stock_book(path):
                with suppress(MakerError), told(path), closing(sqlite3.connect(path)) as old:
                    old.execute("PRAGMA wal_checkpoint(TRUNCATE)")  # what was confirmed goes into the file itself
            path.replace(kept)
            for ending in ("-wal", "-shm"):
                with suppress(OSError):
                    path.with_name(path.name + ending).replace(kept.with_name(kept.name + ending))
        back_up(source, path)
    return kept


def _unused(path: Path) -> Path:
    number = 1
    while (kept := path.with_name(f"{path.name}.before-{number}")).exists():
        number += 1
    return kept
