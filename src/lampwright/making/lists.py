"""The maker's lists as CSV files: what lies on the shelf, and what is sold at which price."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from lampwright.parts import Offer, offers_of
from lampwright.power import PricedWire, priced_wires
from lampwright.stock import BentTube, bent_from_text, free_lots, is_stock_book, open_stock
from lampwright.units.lists import ListTable

CODE = "MAKING-001"
SHELF_COLUMNS = ("part", "length", "count")
SHOP_COLUMNS = ("part", "length", "price", "pack", "days")


@dataclass(frozen=True)
class ShelfRow:
    """Something that lies on the shelf."""

    part: str
    length: float | None  # of each; ``None``: sold by the piece [m]
    count: int
    lot: int | None = None
    """Its number in the stock book; ``None``: from a list."""
    bent: BentTube | None = None
    """The shape that it is bent to, of tube; ``None``: straight."""


def read_shelf(path: Path, piece: str = "") -> tuple[ShelfRow, ...]:
    """Return what lies on the shelf, by a list (columns part, length, count; length may be empty) or by a stock book.

    Of a stock book that is what is usable and not reserved for another piece than ``piece``.

    Raises
    ------
    MakerError
        MAKING-001 with all that can't be read of a list, each at its line and column; STOCK-001 of a book.
    """
    if is_stock_book(path):
        with open_stock(path) as book:
            lots = free_lots(book, piece)
        return tuple(
            ShelfRow(
                lot.what.part,
                lot.what.length,
                lot.what.count,
                lot.number,
                bent_from_text(lot.what.bent) if lot.what.bent else None,
            )
            for lot in lots
        )
    table = ListTable(path, SHELF_COLUMNS, CODE, also="a stock book")
    rows = tuple(ShelfRow(table.text(row, "part"), table.length(row), table.whole(row, "count", 1)) for row in table)
    table.finish()
    return rows


def read_shop(path: Path) -> tuple[Offer, ...]:
    """Return the rows of a list of what is sold: part, length, price, pack, days; all but the part may be empty.

    Raises
    ------
    MakerError
        MAKING-001 with all that can't be read, each at its line and column.
    """
    table = ListTable(path, SHOP_COLUMNS, CODE)
    rows = tuple(
        Offer(
            table.text(row, "part"),
            table.length(row),
            table.price(row),
            table.whole(row, "pack", 1),
            float(table.whole(row, "days", 0, least=0)),
        )
        for row in table
    )
    table.finish()
    return rows


def offered(part: str, shop: Sequence[Offer], is_cut: bool) -> tuple[Offer, ...]:
    """Return how a part can be bought: by the maker's own list where it is in it, else as the catalogue judges.

    ``is_cut`` asks for lengths to cut it from, otherwise for what is sold by the piece.
    """
    own = tuple(row for row in shop if row.part == part and (row.length is not None) == is_cut)
    return own or tuple(each for each in offers_of(part) if (each.length is not None) == is_cut)


def wire_prices(shop: Sequence[Offer]) -> list[PricedWire]:
    """Return what a metre of each wire costs: the cheapest lot of the maker's list, in any colour, else as judged."""
    priced = []
    for judged in priced_wires():
        name = judged.wire.name
        own = [
            row.price / 100 / row.length / row.pack
            for row in shop
            if row.price is not None and row.length and (row.part == name or row.part.startswith(f"{name} "))
        ]
        priced.append(PricedWire(judged.wire, min(own, default=judged.price)))
    return priced
