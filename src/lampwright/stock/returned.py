"""What a struck piece leaves: its inspection, uncut parts in the lots they were issued from, the rest as new lots."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import replace

from lampwright.stock.book import StockBook
from lampwright.stock.inspected import Inspection, write_inspection
from lampwright.stock.lots import note, write_lot
from lampwright.stock.model import NewLot
from lampwright.units import MakerError, Problem


def book_in(book: StockBook, inspection: Inspection, lots: Sequence[NewLot]) -> int:
    """Write down an inspection and all that came back with it, or nothing; return how many lots that touched.

    Packs, boards and whatever else is whole and good go back into the lots that the piece was issued them from, with
    their history; a pack's cycles are added to what it had. What was cut, what has to be tested and what was never
    issued becomes a lot of its own.

    Raises
    ------
    MakerError
        STRIKE-002: the piece was inspected on that day already.
    """
    with book.change() as connection:
        query = "SELECT 1 FROM inspection WHERE piece = ? AND date = ?"
        if connection.execute(query, (inspection.piece, inspection.date.isoformat())).fetchone():
            raise MakerError([_inspected_already(inspection)])
        write_inspection(connection, inspection)
        return _come_back(connection, inspection.piece, lots)


def _come_back(connection: sqlite3.Connection, piece: str, lots: Sequence[NewLot]) -> int:
    touched, cycled = 0, set[int]()
    for lot in lots:
        left = lot.count
        if lot.length is None and lot.condition == "good":
            for number, count in _out(connection, piece, lot.part):
                back = min(left, count)
                if back > 0:
                    # a lot's packs were all out for the same nights
                    cycles = None if number in cycled else lot.cycles
                    _return(connection, number, back, piece, replace(lot, cycles=cycles))
                    cycled.add(number)
                    left -= back
                    touched += 1
        if left:
            write_lot(connection, replace(lot, count=left), "came back")
            touched += 1
    return touched


def _out(connection: sqlite3.Connection, piece: str, part: str) -> list[tuple[int, int]]:
    """Return the lots of a part that a piece still has something from, and how many."""
    found = connection.execute(
        """
        SELECT entry.lot, -sum(entry.count) AS out FROM entry JOIN lot ON lot.number = entry.lot
        WHERE entry.piece = ? AND lot.part = ? AND lot.length IS NULL AND entry.what IN ('issued', 'came back')
        GROUP BY entry.lot HAVING out > 0 ORDER BY entry.lot
        """,
        (piece, part),
    )
    return [(row[0], row[1]) for row in found]


def _return(connection: sqlite3.Connection, number: int, count: int, piece: str, lot: NewLot) -> None:
    # "new" no longer
    connection.execute(
        """
        UPDATE lot SET count = count + ?, cycles = CASE WHEN ? IS NULL THEN cycles ELSE coalesce(cycles, 0) + ? END,
            condition = CASE condition WHEN 'new' THEN 'good' ELSE condition END
        WHERE number = ?
        """,
        (count, lot.cycles, lot.cycles, number),
    )
    note(connection, number, "came back", count, piece, lot.note)


def _inspected_already(inspection: Inspection) -> Problem:
    summary = f"{inspection.piece} was inspected on {inspection.date} already"
    do = "give another --date, if it was another night; nothing was booked in"
    return Problem("STRIKE-002", summary, str(inspection.date), "a day without inspection", do)
