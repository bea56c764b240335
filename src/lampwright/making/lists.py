"""The maker's lists as CSV files: what lies on the shelf, and what is sold at which price."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from lampwright.parts import Offer, offers_of
from lampwright.units import Kind, MakerError, Place, Problem, UnitError, parse

SHELF_COLUMNS = ("part", "length", "count")
SHOP_COLUMNS = ("part", "length", "price", "pack", "days")


Row = tuple[int, dict[str, str]]
"""A row's line in the file, counted from 1, and its cells by column."""


@dataclass(frozen=True)
class ShelfRow:
    """Something that lies on the shelf."""

    part: str
    length: float | None  # of each; ``None``: sold by the piece [m]
    count: int


def read_shelf(path: Path) -> tuple[ShelfRow, ...]:
    """Return the rows of a shelf file: columns part, length, count; length may be empty.

    Raises
    ------
    MakerError
        MAKING-001 with all that can't be read, each at its line and column.
    """
    table = ListTable(path, SHELF_COLUMNS)
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
    table = ListTable(path, SHOP_COLUMNS)
    rows = tuple(
        Offer(
            table.text(row, "part"),
            table.length(row),
            table.price(row),
            table.whole(row, "pack", 1),
            float(table.whole(row, "days", 0)),
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


class ListTable:
    """A CSV file's cells, and the problems that were met."""

    def __init__(self, path: Path, columns: Sequence[str]) -> None:
        self.path, self.columns = path, columns
        self.problems: list[Problem] = []
        self.lines = self._read().splitlines() or [""]
        reader = csv.reader(io.StringIO("\n".join(self.lines)))
        header = [cell.strip().lower() for cell in next(reader, [])]
        for name in header:
            if name not in columns:
                self.fault(1, name, "there is no such column", f'"{name}"', "write the columns " + ", ".join(columns))
        if columns[0] not in header:
            summary, do = f'the column "{columns[0]}" is missing', f'begin it with "{columns[0]}"'
            self.fault(1, self.lines[0], summary, f'"{self.lines[0]}"', do)
        self.rows: list[Row] = []
        for cells in reader:
            if any(cell.strip() for cell in cells):
                row = dict(zip(header, (cell.strip() for cell in cells), strict=False))
                self.rows.append((reader.line_num, row))
        if self.problems:
            self.finish()

    def __iter__(self) -> Iterator[Row]:
        return iter(self.rows)

    def text(self, row: Row, column: str) -> str:
        value = row[1].get(column, "")
        if not value:
            self.fault(row[0], "", f'the "{column}" is missing', "an empty cell", "fill it in, or delete the row")
        return value

    def length(self, row: Row) -> float | None:
        length = self.quantity(row, "length", "length", 'a length such as "3 m"')
        if length is not None and length <= 0:
            value = row[1]["length"]
            self.fault(row[0], value, "this is too small", f'"{value}"', "write the length of one", "more than 0 m")
        return length

    def quantity(self, row: Row, column: str, kind: Kind, allowed: str) -> float | None:
        """Return a quantity with its unit, in SI; ``None`` where the cell is empty, or after noting a fault."""
        value = row[1].get(column, "")
        if not value:
            return None
        try:
            return parse(value, kind)
        except UnitError as error:
            self.fault(row[0], value, error.problem.summary, f'"{value}"', error.problem.do, allowed)
            return None

    def whole(self, row: Row, column: str, otherwise: int) -> int:
        value = row[1].get(column, "")
        if not value:
            return otherwise
        if not value.isascii() or not value.isdigit() or len(value) > 6 or (column != "days" and int(value) == 0):
            least = 0 if column == "days" else 1
            allowed = f"a whole number from {least} to 999999"
            self.fault(row[0], value, f'"{column}" is no such number', f'"{value}"', "write digits alone", allowed)
            return otherwise
        return int(value)

    def price(self, row: Row) -> int | None:
        value = row[1].get("price", "")
        if not value:
            return None
        whole, point, part = value.partition(".")
        digits = whole + part
        if not digits.isascii() or not digits.isdigit() or len(part) > 2 or len(whole) > 7 or (point and not part):
            allowed = 'an amount such as "12.50", with a point and without a currency'
            self.fault(row[0], value, "this is no price", f'"{value}"', "write digits, and two after a point", allowed)
            return None
        return int(whole or "0") * 100 + int((part + "00")[:2])

    def finish(self) -> None:
        if self.problems:
            raise MakerError(self.problems)

    def _read(self) -> str:
        try:
            return self.path.read_bytes().decode("utf-8-sig")
        except UnicodeDecodeError:
            summary = "this is not a text file in UTF-8"
        except FileNotFoundError:
            summary = "there is no such file"
        except IsADirectoryError:
            summary = "this is a folder, not a file"
        do = "check the path and how it is saved"
        raise MakerError([Problem("MAKING-001", summary, str(self.path), "a CSV file in UTF-8", do)])

    def fault(self, line: int, cell: str, summary: str, found: str, do: str, allowed: str = "") -> None:
        """Note a problem with a cell; ``allowed`` is the columns unless it is given."""
        text = self.lines[line - 1] if line <= len(self.lines) else ""
        column = max(0, text.find(cell)) + 1
        place = Place(str(self.path), line, column, max(1, len(cell)), text)
        allowed = allowed or "the columns " + ", ".join(self.columns)
        self.problems.append(Problem("MAKING-001", summary, found, allowed, do, place))
