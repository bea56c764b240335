"""``lampwright strike``: after the show."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter
from cyclopts.validators import Number
from rich.console import Console
from rich.table import Table

from lampwright.book import after_show_page
from lampwright.cli.bars import Bars
from lampwright.cli.open import show_page
from lampwright.cli.options import OutFolder, PieceFile, file_to_write
from lampwright.cli.shelf import BookFile, stock_path
from lampwright.cli.walk import walk
from lampwright.faults.every import embody
from lampwright.layout import lay_out
from lampwright.piece import read_piece
from lampwright.signoff import sign_off
from lampwright.stock import Inspection, book_in, open_stock
from lampwright.strike import (
    FormFailure,
    Reclaimed,
    damage_photos,
    draw_damage,
    form_of,
    inspect,
    read_form,
    reclaim,
    report_on,
    write_empty,
)
from lampwright.units import MakerError, Problem, format_quantity
from lampwright.written import write_whole

Filled = Annotated[Path | None, Parameter(name="--form", help="The form, filled in.")]
Inspect = Annotated[
    Path | None, Parameter(name="--inspect", help="Ask what failed, thing by thing, and keep it in this form.")
]
OnPage = Annotated[
    bool, Parameter(name="--open", negative="", help="Fill the form in on the page; it is kept beside the piece.")
]
Nights = Annotated[int, Parameter(help="How many nights it stood.", validator=Number(gte=1, lte=1000))]
Hours = Annotated[
    float | None,
    Parameter(
        help="Under power, all nights together; unless given, standby and run time each night.",
        validator=Number(gt=0, lte=24_000),
    ),
]
Day = Annotated[str, Parameter(name="--date", help="When it was inspected, such as 2026-12-20; unless given, today.")]
BookIn = Annotated[
    bool,
    Parameter(name="--book-in", negative="", help="Write it into the stock book: what failed, and what comes back."),
]


def strike(
    piece: PieceFile,
    /,
    *,
    form: Filled = None,
    inspect_into: Inspect = None,
    on_page: OnPage = False,
    nights: Nights = 1,
    hours: Hours = None,
    date: Day = "",
    book_in: BookIn = False,
    stock: BookFile = None,
    out: OutFolder = Path("out"),
) -> int:
    """Inspect a piece after its show: write the form, fill it in question by question, or read it filled in.

    Read, it gives a map of the damage, what comes back to the shelf, and a page for the next time.
    """
    _ensure_one(form=form is not None, inspect=inspect_into is not None, open=on_page)
    if on_page:
        return show_page(piece, part="#inspect")
    if inspect_into is not None:
        return _walk(piece, inspect_into)
    day = _day(date)
    folder = out / "strike"
    folder.mkdir(parents=True, exist_ok=True)
    if form is None:
        return _write_form(piece, folder)
    with Bars() as bars:
        report = sign_off(read_piece(piece), bars)
    layout, brief = report.layout, report.piece.brief
    body = embody(layout)
    failures = read_form(form, form_of(layout, body))
    lasted = nights * (brief.standby + brief.run_time) / 3600 if hours is None else hours
    inspection = inspect(body, [each.failure for each in failures], day, nights, lasted)
    reclaimed = reclaim(layout, failures, nights)
    draw_damage(layout, failures, folder / "damage.png")
    page = after_show_page(
        report_on(body, inspection, failures, reclaimed, report.findings),
        (folder / "damage.png").read_bytes(),
        damage_photos(piece.parent, failures),
    )
    write_whole(folder / "after-show.pdf", page)
    console = Console(highlight=False, markup=False)
    _print(console, failures, reclaimed)
    if book_in:
        console.print(_book(stock_path(stock), inspection, reclaimed))
    else:
        console.print("Nothing is booked in yet: --book-in does it.")
    console.print(f"damage.png and after-show.pdf in {folder}", soft_wrap=True)
    return 0


def _ensure_one(**given: bool) -> None:
    """Raise a :class:`MakerError` where the form is to be filled in and read at once."""
    options = [f"--{name}" for name, is_given in given.items() if is_given]
    if len(options) > 1:
        summary, do = "these don't go together", "fill the form in first, then give --form"
        raise MakerError([Problem("COMMAND-001", summary, " and ".join(options), "one of them", do)])


def _walk(piece: Path, path: Path) -> int:
    layout = lay_out(read_piece(piece))
    walk(piece, file_to_write(path, ".csv"), form_of(layout, embody(layout)))
    return 0


def _write_form(piece: Path, folder: Path) -> int:
    layout = lay_out(read_piece(piece))
    form = form_of(layout, embody(layout))
    write_empty(folder / "inspection.csv", form)
    print(f"{len(form.rows)} things to look at: {folder / 'inspection.csv'}; fill in what failed, then --form it")
    print("or be asked, thing by thing, by --inspect FORM.csv; or fill it in on the page by --open")
    return 0


def _book(path: Path, inspection: Inspection, reclaimed: Reclaimed) -> str:
    """Write inspection and returns into the stock book; the same inspection isn't booked twice."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with open_stock(path, create=True) as book:
        n_lot = book_in(book, inspection, reclaimed.lots)
    return f"Booked in: the inspection, and {n_lot} lots that came back."


def _day(text: str) -> datetime.date:
    if not text:
        return datetime.datetime.now().astimezone().date()
    try:
        return datetime.date.fromisoformat(text)
    except ValueError as error:
        do = "write year, month and day"
        summary = "this is no date"
        raise MakerError([Problem("STRIKE-002", summary, f'"{text}"', 'a date such as "2026-12-20"', do)]) from error


def _print(console: Console, failures: Sequence[FormFailure], reclaimed: Reclaimed) -> None:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for name in ("", "what failed", "how", "at"):
        table.add_column(name)
    for number, each in enumerate(failures, 1):
        where = f"{each.row.circuit}, " if each.row.circuit else ""
        table.add_row(str(number), where + each.row.thing, each.failure.how, each.place().removeprefix(" at "))
    console.print(table if failures else "Nothing failed.")
    console.print()
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for name in ("comes back", "length", "condition", "known of it"):
        table.add_column(name)
    for lot in reclaimed.lots:
        length = "" if lot.length is None else format_quantity(lot.length, "length", 4)
        table.add_row(f"{lot.count} × {lot.part}", length, lot.condition, lot.note)
    console.print(table)
    console.print(
        f"parts {reclaimed.spent:.2f}, back on the shelf {reclaimed.came_back:.2f}, net {reclaimed.net:.2f}, by judged "
        f"prices; to the bin {1e3 * reclaimed.waste:.0f} g"
    )
