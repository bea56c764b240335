"""``lampwright shopping``: what to buy."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter
from cyclopts.validators import Number
from rich.console import Console
from rich.table import Table

from lampwright.cli.options import AsJson, OutFolder, PieceFile, ShelfFile, ShopFile
from lampwright.layout import lay_out
from lampwright.making import ShoppingList, cut_all, read_shelf, read_shop, shopping_csv, shopping_list, shopping_xlsx
from lampwright.parts import catalogue_currency
from lampwright.piece import read_piece
from lampwright.piece.currency import is_currency
from lampwright.written import write_whole


def _short(_type: object, value: str | None) -> None:
    if value is not None and not is_currency(value):
        raise ValueError("a currency has one to eight letters, such as EUR")


Currency = Annotated[
    str,
    Parameter(
        validator=_short,
        help="What your prices are in, such as GBP; the catalogue's judged prices are taken as that, unchanged.",
    ),
]
Budget = Annotated[
    float, Parameter(validator=Number(gte=0, lte=10_000_000), help="What may be spent, in the currency of your prices.")
]


def shopping(
    piece: PieceFile,
    /,
    *,
    shelf: ShelfFile | None = None,
    shop: ShopFile | None = None,
    budget: Budget | None = None,
    currency: Currency | None = None,
    out: OutFolder = Path("out"),
    as_json: AsJson = False,
) -> int:
    """List what to buy: what the piece needs, less the shelf, plus spares, as it is sold; CSV and XLSX.

    Budget and currency are the brief's unless they are given. Exit code 1: the total is above the budget.
    """
    read = read_piece(piece)
    layout = lay_out(read)
    budget = read.brief.budget if budget is None else budget
    currency = currency or read.brief.currency or catalogue_currency()
    on_shelf, sold = read_shelf(shelf, read.brief.name) if shelf else (), read_shop(shop) if shop else ()
    bought = shopping_list(layout, cut_all(layout, on_shelf, sold), on_shelf, sold)
    out.mkdir(parents=True, exist_ok=True)
    write_whole(out / "shopping.csv", shopping_csv(bought))
    write_whole(out / "shopping.xlsx", shopping_xlsx(bought, read.brief.date))
    is_within = budget is None or bought.total <= round(budget * 100)
    if as_json:
        plain = {
            "lines": [asdict(line) for line in bought.lines],
            "currency": currency,
            "total": bought.total,
            "judged": bought.judged,
            "unpriced": [line.part for line in bought.unpriced],
            "reclaimable": bought.reclaimable,
            "within_budget": is_within,
        }
        print(json.dumps(plain, indent=2, ensure_ascii=False))
    else:
        _print(bought, currency, budget, out)
    return 0 if is_within else 1


def _print(bought: ShoppingList, currency: str, budget: float | None, folder: Path) -> None:
    console = Console(highlight=False, markup=False)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("buy", justify="right")
    table.add_column("part")
    table.add_column("sold as")
    for column in ("needed", "shelf", "spare", "total", "days"):
        table.add_column(column, justify="right")
    for line in bought.lines:
        total = "" if line.total is None else f"{line.total / 100:.2f}{'*' if line.is_judged else ' '}"
        days = "" if line.days is None else f"{line.days:g}"
        counts = [str(line.needed), str(line.on_shelf), str(line.spare)]
        table.add_row(str(line.buy), line.part, line.sold_as, *counts, total, days)
    console.print(table)
    console.print()
    n_unpriced = len(bought.unpriced)
    lacking = f", without {n_unpriced} that have no price" if n_unpriced else ""
    after = f"worth {bought.reclaimable / 100:.2f} after the show"
    console.print(f"total {bought.total / 100:.2f} {currency}{lacking}; {after}")
    if bought.judged:
        console.print(f"* {bought.judged / 100:.2f} of it by judged prices, asked of nobody: give your own with --shop")
    if budget is not None:
        left = budget - bought.total / 100
        verdict = f"{left:.2f} left" if left >= 0 else f"{-left:.2f} over"
        console.print(f"budget {budget:.2f} {currency}: {verdict}")
    console.print(f"mass {bought.mass:.2f} kg of what the catalogue knows the mass of; wire counts as copper alone")
    kinds = {line.kind for line in bought.lines}
    if "pack" in kinds:
        console.print("Lithium packs: undamaged and tested to UN 38.3; never charge below 0 °C, wet or unattended.")
    if "supply" in kinds:
        console.print("Mains supplies: only ones that are listed or certified for your country; nobody opens them.")
    console.print(f"shopping.csv and shopping.xlsx in {folder}", soft_wrap=True)
