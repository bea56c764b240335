"""The shopping list as files: CSV for any program, XLSX with sums that go on reckoning."""

from __future__ import annotations

import csv
import datetime
import io

from lampwright.making.shopping import Line, ShoppingList

HEADER = (
    "part",
    "sold as",
    "needed",
    "on shelf",
    "spare",
    "buy",
    "price",
    "total",
    "mass kg",
    "days",
    "or",
    "after",
    "price by",
)


def shopping_csv(shopping: ShoppingList) -> str:
    """Return the list as CSV; money with two places and no currency, what isn't known empty."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(HEADER)
    for line in shopping.lines:
        writer.writerow(["" if cell is None else cell for cell in _cells(line, as_text=True)])
    return text.getvalue()


def shopping_xlsx(shopping: ShoppingList, day: datetime.date) -> bytes:
    """Return the list as a workbook; totals are formulas, so that another price changes them.

    Parameters
    ----------
    day
        Written into the file as its day of making, so that equal lists give equal files.
    """
    # Imported here: only this one file of one command needs it.
    from xlsxwriter import Workbook

    buffer = io.BytesIO()
    book = Workbook(buffer, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties({"title": "Shopping list", "created": datetime.datetime.combine(day, datetime.time())})
    sheet = book.add_worksheet("Shopping")
    bold, money = book.add_format({"bold": True}), book.add_format({"num_format": "0.00"})
    sheet.write_row(0, 0, HEADER, bold)
    for row, line in enumerate(shopping.lines, start=1):
        for column, cell in enumerate(_cells(line, as_text=False)):
            if cell is not None and HEADER[column] not in ("total", "after"):
                sheet.write(row, column, cell, money if HEADER[column] == "price" else None)
        if line.price is not None:
            total = (line.total or 0) / 100
            sheet.write_formula(row, 7, f"=F{row + 1}*G{row + 1}", money, total)
            sheet.write_formula(row, 11, f"=H{row + 1}*{line.reclaim:g}", money, total * line.reclaim)
    last = len(shopping.lines) + 1
    sheet.write(last, 0, "total", bold)
    sheet.write_formula(last, 7, f"=SUM(H2:H{last})", money, shopping.total / 100)
    sheet.write_formula(last, 8, f"=SUM(I2:I{last})", None, shopping.mass)
    sheet.write_formula(last, 11, f"=SUM(L2:L{last})", money, shopping.reclaimable / 100)
    sheet.set_column(0, 1, 26)
    sheet.set_column(10, 10, 22)
    sheet.freeze_panes(1, 1)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    book.close()
    return buffer.getvalue()


def _cells(line: Line, as_text: bool) -> list[str | int | float | None]:
    def money(hundredths: float | None) -> str | float | None:
        if hundredths is None:
            return None
        return f"{hundredths / 100:.2f}" if as_text else hundredths / 100

    after = None if line.total is None else round(line.total * line.reclaim)
    return [
        line.part,
        line.sold_as,
        line.needed,
        line.on_shelf,
        line.spare,
        line.buy,
        money(line.price),
        money(line.total),
        None if line.mass is None else round(line.mass, 3),
        line.days,
        line.substitute,
        money(after),
        "" if line.price is None else "judgement" if line.is_judged else "your list",
    ]
