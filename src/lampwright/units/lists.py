"""The maker's lists: CSV files whose cells are read as spoken, each fault told at its line and column.

Cells may be parted by commas, or as spreadsheets do where the comma is the decimal sign: by semicolons or tabs.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from lampwright.units.errors import MakerError, Place, Problem
from lampwright.units.parse import UnitError, parse
from lampwright.units.table import Kind

Row = tuple[int, dict[str, str]]
"""A row's line in the file, counted from 1, and its cells by column."""


class ListTable:
    """A maker's list: a CSV file's cells, and the problems that were met, each at its line and column.

    Parameters
    ----------
    columns
        Names that the header may have; the first of them it must have.
    code
        Of the problems, such as "MAKING-001".
    also
        What may be given in the list's place, such as "a stock book"; empty: nothing.
    """

    def __init__(self, path: Path, columns: Sequence[str], code: str, also: str = "") -> None:
        self.path, self.columns, self.code, self.also = path, columns, code, also
        self.problems: list[Problem] = []
        self.lines = self._read().splitlines() or [""]
        self.delimiter = next((each for each in ",;\t" if each in self.lines[0]), ",")
        reader = csv.reader(io.StringIO("\n".join(self.lines)), delimiter=self.delimiter)
        self.header = header = [cell.strip().lower() for cell in next(reader, [])]
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
        """Return a cell that must not be empty."""
        value = row[1].get(column, "")
        if not value:
            self.fault(row[0], "", f'the "{column}" is missing', "an empty cell", "fill it in, or delete the row")
        return value

    def length(self, row: Row) -> float | None:
        """Return the cell "length", above zero; ``None`` where it is empty. [m]"""
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
            return parse(self._with_points(value), kind)
        except UnitError as error:
            self.fault(row[0], value, error.problem.summary, f'"{value}"', error.problem.do, allowed)
            return None

    def whole(self, row: Row, column: str, otherwise: int, least: int = 1) -> int:
        """Return a whole number of at least ``least``; ``otherwise`` where the cell is empty."""
        value = row[1].get(column, "")
        if not value:
            return otherwise
        if not value.isascii() or not value.isdigit() or len(value) > 6 or int(value) < least:
            allowed = f"a whole number from {least} to 999999"
            self.fault(row[0], value, f'"{column}" is no such number', f'"{value}"', "write digits alone", allowed)
            return otherwise
        return int(value)

    def price(self, row: Row, column: str = "price") -> int | None:
        """Return an amount of money in hundredths; ``None`` where the cell is empty."""
        value = row[1].get(column, "")
        if not value:
            return None
        whole, point, part = self._with_points(value).partition(".")
        digits = whole + part
        if not digits.isascii() or not digits.isdigit() or len(part) > 2 or len(whole) > 7 or (point and not part):
            allowed = 'an amount such as "12.50", with a point and without a currency'
            self.fault(row[0], value, "this is no price", f'"{value}"', "write digits, and two after a point", allowed)
            return None
        return int(whole or "0") * 100 + int((part + "00")[:2])

    def _with_points(self, value: str) -> str:
        """Return a number with a decimal point where commas don't part the cells."""
        return value if self.delimiter == "," else re.sub(r"(?<=\d),(?=\d)", ".", value)

    def finish(self) -> None:
        """Raise a :class:`MakerError` with all problems that were met, if there were any."""
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
        allowed = f"a CSV file in UTF-8, or {self.also}" if self.also else "a CSV file in UTF-8"
        do = "check the path and how it is saved"
        raise MakerError([Problem(self.code, summary, str(self.path), allowed, do)])

    def fault(
        self, line: int, cell: str, summary: str, found: str, do: str, allowed: str = "", column_name: str = ""
    ) -> None:
        """Note a problem with a cell; ``allowed`` is the columns unless it is given.

        With ``column_name`` it is the cell of that column; without, the first that reads so.
        """
        text = self.lines[line - 1] if line <= len(self.lines) else ""
        start = _cell_start(text, self.header.index(column_name)) if column_name in self.header else 0
        column = max(start, text.find(cell, start)) + 1
        place = Place(str(self.path), line, column, max(1, len(cell)), text)
        allowed = allowed or "the columns " + ", ".join(self.columns)
        self.problems.append(Problem(self.code, summary, found, allowed, do, place))


def _cell_start(line: str, number: int) -> int:
    """Return where a cell of a line begins, counted from 0; the end of the line where it has no such cell."""
    is_quoted = False
    for position, sign in enumerate(line):
        if number == 0:
            return position
        if sign == '"':
            is_quoted = not is_quoted
        elif sign == "," and not is_quoted:
            number -= 1
    return len(line)
