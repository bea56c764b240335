"""``lampwright book``: everything that is printed, in one PDF."""

from __future__ import annotations

import hashlib
from importlib.metadata import version
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from lampwright.book.bound import NEEDS_CHECK, PARTS, Contents, Money, PartName, bind_book, identities
from lampwright.cli.bars import Bars
from lampwright.cli.options import OutFolder, PieceFile, ShelfFile, ShopFile
from lampwright.cli.papers import write_papers
from lampwright.cli.pieces import read_with_measured
from lampwright.cli.shopping import Budget, Currency
from lampwright.findings.grouping import count_line
from lampwright.layout import lay_out
from lampwright.making import (
    cut_all,
    harnesses_of,
    read_shelf,
    read_shop,
    shopping_csv,
    shopping_list,
    shopping_xlsx,
)
from lampwright.parts import catalogue_currency
from lampwright.signoff import sign_off
from lampwright.stock import is_stock_book
from lampwright.written import write_whole

Only = Annotated[list[PartName], Parameter(negative="", help="A part of the book alone; give it again for another.")]


def book(
    piece: PieceFile,
    /,
    *,
    only: Only | None = None,
    shelf: ShelfFile | None = None,
    shop: ShopFile | None = None,
    budget: Budget | None = None,
    currency: Currency | None = None,
    out: OutFolder = Path("out"),
) -> int:
    """Bind the build book: one PDF from cautions and drawings to wiring, tests, run sheet and inspection form.

    The piece is checked, and its firmware built, so that the book says what the checks say and names what is
    flashed. The crew's cards, labels, bench test sheets and shopping list are written beside it. Exit code 1: a
    check failed; the book says so.
    """
    parts = tuple(part for part in PARTS if not only or part in only)
    is_whole = len(parts) == len(PARTS)
    digest = hashlib.sha256(piece.read_bytes()).hexdigest() if piece.is_file() else ""
    # with a stock book, packs and boards kept for the piece count as measured, as in the check
    read = read_with_measured(piece, shelf if shelf and is_stock_book(shelf) else None)
    on_shelf, sold = read_shelf(shelf, read.brief.name) if shelf else (), read_shop(shop) if shop else ()
    out.mkdir(parents=True, exist_ok=True)
    with Bars() as bars:
        report = sign_off(read, bars) if NEEDS_CHECK & set(parts) else None
        firmware = identities(report, out, bars) if report and "firmware" in parts else ()
        layout = report.layout if report else lay_out(read)
        bars.begin("book", len(parts) + 3)
        cuts = cut_all(layout, on_shelf, sold)
        bought = shopping_list(layout, cuts, on_shelf, sold)
        bars.reach(1)
        money = Money(
            currency or read.brief.currency or catalogue_currency(),
            read.brief.budget if budget is None else budget,
        )
        findings = report.findings if report else ()
        harnesses = harnesses_of(layout, cuts)
        contents = Contents(layout, digest, version("lampwright"), cuts, harnesses, bought, money, findings, firmware)
        pdf = bind_book(contents, parts, lambda done: bars.reach(1 + done))
        file = out / ("book.pdf" if is_whole else f"book-{'-'.join(parts)}.pdf")
        write_whole(file, pdf)
        if is_whole:
            write_papers(layout, out / "papers")
            write_whole(out / "shopping.csv", shopping_csv(bought))
            write_whole(out / "shopping.xlsx", shopping_xlsx(bought, read.brief.date))
        bars.reach(len(parts) + 3)
    print(f"{file}: print at 100 %, not fitted to the page")
    if is_whole:
        print(f"cards, labels and bench test sheets in {out / 'papers'}; shopping lists and firmware in {out}")
    if report:
        print(count_line(report.findings))
    return 0 if report is None or report.has_passed else 1
