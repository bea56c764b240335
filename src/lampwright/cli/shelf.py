"""``lampwright shelf``: the stock book at the command line."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Literal

from cyclopts import App, Parameter
from cyclopts.validators import Number
from rich.console import Console
from rich.table import Table

from lampwright.cli.options import PieceFile
from lampwright.parts import near_name
from lampwright.stock import (
    Lot,
    NewLot,
    add_lot,
    add_lots,
    back_up,
    bent_from_text,
    count_lot,
    export_book,
    find_lots,
    history,
    issue,
    left_over,
    lot_of,
    measure_lot,
    open_stock,
    read_lots,
    release,
    reservations,
    reserve,
    restore,
    take_from,
)
from lampwright.stock.plain import LOT_COLUMNS, lot_cells
from lampwright.units import MakerError, Problem, UnitError, format_quantity, parse
from lampwright.units.table import Kind
from lampwright.written.kept import user_data

shelf = App(
    name="shelf",
    help="The stock book: what lies on the shelf, kept for which piece, with its history.",
    help_format="plaintext",
)

BookFile = Annotated[Path | None, Parameter(name="--stock", help="The stock book; unless given, your own one.")]
LotNumber = Annotated[int, Parameter(help="Number of the lot, as the list tells it.", validator=Number(gte=1))]
Count = Annotated[int, Parameter(help="How many.", validator=Number(gte=1, lte=999_999))]
Condition = Literal["new", "good", "untested", "worn", "broken"]
AsJson = Annotated[bool, Parameter(name="--json", negative="", help="Print as JSON.")]


def stock_path(given: Path | None) -> Path:
    """Return the stock book's path: the one given, else the user's own."""
    return user_data() / "lampwright" / "stock.db" if given is None else given


@shelf.command(name="list", sort_key=1)
def list_lots(
    part: Annotated[str, Parameter(help="Only this part.")] = "",
    /,
    *,
    gone: Annotated[bool, Parameter(name="--all", negative="", help="Those too of which nothing is left.")] = False,
    stock: BookFile = None,
    as_json: AsJson = False,
) -> int:
    """List what lies on the shelf."""
    with open_stock(stock_path(stock)) as book:
        lots = find_lots(book, part, gone=gone)
        kept = reservations(book)
    if as_json:
        plain = [
            {"number": lot.number, "reserved": lot.reserved} | dict(zip(LOT_COLUMNS, lot_cells(lot), strict=True))
            for lot in lots
        ]
        print(json.dumps(plain, indent=2, ensure_ascii=False))
        return 0
    for_whom: dict[int, list[str]] = {}
    for each in kept:
        for_whom.setdefault(each.lot.number, []).append(f"{each.count} for {each.piece}")
    rows = [
        (
            str(lot.number),
            str(lot.what.count),
            lot.what.part,
            "" if lot.what.length is None else format_quantity(lot.what.length, "length", 4),
            lot.what.condition,
            lot.what.place,
            ", ".join(for_whom.get(lot.number, ())),
            _known(lot.what),
        )
        for lot in lots
    ]
    _print_lots(rows)
    print(f"{_lots(len(lots))}, {_things(sum(lot.what.count for lot in lots))}")
    return 0


HEADINGS = ("lot", "count", "part", "length", "condition", "place", "reserved", "known of it")

MOST_FITTED = 100
"""Rows that are fitted to the width of the screen; more of them are written as wide as they are, which is quick."""


def _print_lots(rows: Sequence[tuple[str, ...]]) -> None:
    if len(rows) > MOST_FITTED:
        widths = [max(len(row[i]) for row in (HEADINGS, *rows)) for i in range(len(HEADINGS))]
        for row in (HEADINGS, *rows):
            print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())
        return
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for name in HEADINGS:
        table.add_column(name, justify="right" if name in ("lot", "count") else "left")
    for row in rows:
        table.add_row(*row)
    Console(highlight=False, markup=False).print(table)


def _known(what: NewLot) -> str:
    """Return all that is known of a lot besides what and where it is."""
    told = []
    if what.bent:
        told.append(f"bent {what.bent}")
    if what.origin:
        told.append(f"from {what.origin}")
    if what.joints:
        told.append("1 joint" if what.joints == 1 else f"{what.joints} joints")
    if what.sleeve:
        told.append(f"sleeve {what.sleeve}")
    if what.cycles is not None:
        told.append("1 cycle" if what.cycles == 1 else f"{what.cycles:g} cycles")
    if what.capacity is not None:
        told.append(f"measured {format_quantity(what.capacity, 'charge')}")
    if what.white is not None or what.dark is not None:
        currents = [
            f"{format_quantity(value, 'current')} {colour}"
            for value, colour in ((what.white, "white"), (what.dark, "dark"))
            if value is not None
        ]
        told.append(f"{what.pixels} pixels: {', '.join(currents)}")
    if what.clock_error is not None:
        told.append(f"clock {what.clock_error * 1e6:+.0f} ppm")
    return "; ".join([*told, what.note] if what.note else told)


@shelf.command(sort_key=2)
def add(
    part: Annotated[str, Parameter(help='As the catalogue and the cut plan call it, such as "awg-18 red".')],
    count: Count = 1,
    /,
    *,
    length: Annotated[str, Parameter(help='Of each, such as "1.2 m".')] = "",
    place: Annotated[str, Parameter(help="Where it lies.")] = "",
    cost: Annotated[float | None, Parameter(help="Of one.", validator=Number(gte=0, lte=1e7))] = None,
    condition: Condition = "good",
    note: Annotated[str, Parameter(help="Anything else.")] = "",
    joints: Annotated[int, Parameter(help="Of strip: within it.", validator=Number(gte=0, lte=9999))] = 0,
    sleeve: Annotated[str, Parameter(help="Of strip: its state.")] = "",
    cycles: Annotated[float | None, Parameter(help="Of a pack: charges so far.", validator=Number(gte=0))] = None,
    capacity: Annotated[str, Parameter(help='Of a pack: as measured, such as "9.1 Ah".')] = "",
    clock_error: Annotated[str, Parameter(help='Of a board: as measured, such as "35 ppm".')] = "",
    bent: Annotated[str, Parameter(help='Of tube: such as "1.4 m, 180 deg at 1.2 m, 1.4 m"; no --length then.')] = "",
    stock: BookFile = None,
) -> int:
    """Book a lot in."""
    if not part.strip():
        do = "name it as the catalogue and the cut plan do"
        allowed = 'a name such as "ws2812b-60" or "awg-18 red"'
        raise MakerError([Problem("STOCK-005", "the part has no name", f'"{part}"', allowed, do)])
    form = bent_from_text(bent) if bent else None
    if form is not None and length:
        do = "leave --length out: it follows from the bends"
        raise MakerError([Problem("STOCK-005", "bent tube has its length already", f'"{length}"', "--bent alone", do)])
    lot = NewLot(
        part=" ".join(part.split()),
        count=count,
        length=_quantity(length, "length") if form is None else form.length,
        place=place,
        cost=None if cost is None else round(100 * cost),
        condition=condition,
        note=note,
        joints=joints,
        sleeve=sleeve,
        cycles=cycles,
        capacity=_quantity(capacity, "charge"),
        clock_error=_quantity(clock_error, "share"),
        bent="" if form is None else form.text,
    )
    path = stock_path(stock)
    path.parent.mkdir(parents=True, exist_ok=True)
    with open_stock(path, create=True) as book:
        number = add_lot(book, lot)
    print(f"lot {number}: {count} × {part}")
    _tell_near(part)
    return 0


@shelf.command(sort_key=3)
def take(
    lot: LotNumber,
    count: Count = 1,
    /,
    *,
    note: Annotated[str, Parameter(help="What for.")] = "",
    stock: BookFile = None,
) -> int:
    """Take some of a lot for good."""
    with open_stock(stock_path(stock)) as book:
        _tell(take_from(book, lot, count, note))
    return 0


@shelf.command(sort_key=4)
def count(
    lot: LotNumber,
    there: Annotated[int, Parameter(help="How many there really are.", validator=Number(gte=0, lte=999_999))],
    /,
    *,
    stock: BookFile = None,
) -> int:
    """Write down how many of a lot there really are."""
    with open_stock(stock_path(stock)) as book:
        _tell(count_lot(book, lot, there))
    return 0


@shelf.command(sort_key=5)
def measure(
    lot: LotNumber,
    /,
    *,
    place: Annotated[str | None, Parameter(help="Where it lies now.")] = None,
    condition: Condition | None = None,
    sleeve: Annotated[str | None, Parameter(help="Of strip: its state.")] = None,
    cycles: Annotated[float | None, Parameter(help="Of a pack: charges so far.", validator=Number(gte=0))] = None,
    capacity: Annotated[str, Parameter(help='Of a pack: as measured, such as "9.1 Ah".')] = "",
    clock_error: Annotated[str, Parameter(help='Of a board: as measured, such as "35 ppm".')] = "",
    pixels: Annotated[int | None, Parameter(help="Of strip: lit with a meter on it.", validator=Number(gte=1))] = None,
    volts: Annotated[str, Parameter(help='Then, all white: at the head, such as "4.98 V".')] = "",
    far: Annotated[str, Parameter(help='Then, all white: at the far end, such as "4.61 V".')] = "",
    white: Annotated[str, Parameter(help='Then: current all white, such as "1.9 A".')] = "",
    dark: Annotated[str, Parameter(help='Then: current all dark, such as "42 mA".')] = "",
    note: Annotated[str | None, Parameter(help="Anything else.")] = None,
    stock: BookFile = None,
) -> int:
    """Write down what was measured or seen of a lot."""
    given = {
        "place": place,
        "condition": condition,
        "sleeve": sleeve,
        "cycles": cycles,
        "capacity": _quantity(capacity, "charge"),
        "clock_error": _quantity(clock_error, "share"),
        "pixels": pixels,
        "volts": _quantity(volts, "voltage"),
        "far": _quantity(far, "voltage"),
        "white": _quantity(white, "current"),
        "dark": _quantity(dark, "current"),
        "note": note,
    }
    changed = {name: value for name, value in given.items() if value is not None}
    if not changed:
        do = "give one of them, such as --condition worn"
        raise MakerError([Problem("STOCK-005", "nothing to write down", "no option", "what was measured", do)])
    with open_stock(stock_path(stock)) as book:
        old = lot_of(book, lot)
        new = replace(old, what=replace(old.what, **changed))  # type: ignore[arg-type]
        if changed.keys() & {"pixels", "volts", "far", "white", "dark"}:
            _check_reading(new)
        says = ", ".join(f"{name.replace('_', ' ')}" for name in changed)
        _tell(measure_lot(book, lot, new.what, says))
    return 0


def _check_reading(lot: Lot) -> None:
    """Hold a meter reading of strip against what such strip can draw."""
    # heavy, and of no use to the other commands
    from lampwright.parts import load_catalogue
    from lampwright.power.strip_reading import as_measured

    strip = load_catalogue().strips.get(lot.what.part)
    if strip is None:
        do = "take --note for what was measured of it"
        summary = f"lot {lot.number} is no strip of the catalogue"
        raise MakerError([Problem("STOCK-006", summary, lot.what.part, "a lot of pixel strip", do)])
    as_measured(strip, lot)


@shelf.command(name="history", sort_key=6)
def show_history(lot: LotNumber, /, *, stock: BookFile = None) -> int:
    """Tell all that happened to a lot."""
    with open_stock(stock_path(stock)) as book:
        entries = history(book, lot)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for name in ("when (UTC)", "what", "count", "piece", "note"):
        table.add_column(name)
    for each in entries:
        table.add_row(each.at.replace("+00:00", ""), each.what, f"{each.count:+d}", each.piece, each.note)
    Console(highlight=False, markup=False).print(table)
    return 0


@shelf.command(name="reserve", sort_key=7)
def reserve_for(piece: PieceFile, /, *, stock: BookFile = None) -> int:
    """Keep what a piece uses of the shelf, by its cut plan and shopping list."""
    # heavy, and of no use to the other commands
    from lampwright.layout import lay_out
    from lampwright.making import read_shelf, use_of_shelf
    from lampwright.piece import read_piece

    layout = lay_out(read_piece(piece))
    name, path = layout.piece.brief.name, stock_path(stock)
    with open_stock(path) as book:
        use = use_of_shelf(layout, read_shelf(path, name))
        reserve(book, name, use.lots, use.rests)
        kept, rests = reservations(book, name), left_over(book, name)
    for each in kept:
        print(f"lot {each.lot.number}: {each.count} × {each.lot.what.part} for {name}")
    for rest, number in rests:
        shape = f" ({rest.bent})" if rest.bent else ""
        print(f"of lot {rest.lot} stays here: {number} × {format_quantity(rest.length, 'length', 4)}{shape}")
    print(f"{_lots(len(kept))} kept for {name}; lampwright shopping tells what is still to buy")
    return 0


@shelf.command(name="issue", sort_key=8)
def issue_to(
    piece: Annotated[str, Parameter(help="The piece's name, as its file says.")], /, *, stock: BookFile = None
) -> int:
    """Hand a piece all that is kept for it: it leaves the shelf."""
    with open_stock(stock_path(stock)) as book:
        handed = issue(book, piece)
    print(f"{_things(sum(each.count for each in handed))} of {_lots(len(handed))} handed to {piece}")
    return 0


@shelf.command(name="release", sort_key=9)
def release_from(
    piece: Annotated[str, Parameter(help="The piece's name, as its file says.")], /, *, stock: BookFile = None
) -> int:
    """Give up all that is kept for a piece."""
    with open_stock(stock_path(stock)) as book:
        freed = release(book, piece)
    print(f"free again: {_things(sum(each.count for each in freed))} of {_lots(len(freed))}")
    return 0


@shelf.command(name="import", sort_key=10)
def import_list(
    file: Annotated[Path, Parameter(help="CSV: part, count, length, place, cost, condition, note, …")],
    /,
    *,
    stock: BookFile = None,
) -> int:
    """Book in every lot of a list, or none of them."""
    lots = read_lots(file)
    path = stock_path(stock)
    path.parent.mkdir(parents=True, exist_ok=True)
    with open_stock(path, create=True) as book:
        add_lots(book, lots)
    print(f"{_lots(len(lots))} booked in")
    for part in dict.fromkeys(lot.part for lot in lots):
        _tell_near(part)
    return 0


@shelf.command(name="export", sort_key=11)
def export_all(folder: Annotated[Path, Parameter(help="Where to.")], /, *, stock: BookFile = None) -> int:
    """Write everything in the book into plain CSV files."""
    with open_stock(stock_path(stock)) as book:
        written = export_book(book, folder)
    print(f"{len(written)} files in {folder}")
    return 0


@shelf.command(sort_key=12)
def backup(file: Annotated[Path, Parameter(help="Where to.")], /, *, stock: BookFile = None) -> int:
    """Copy the whole book into one file."""
    with open_stock(stock_path(stock)) as book:
        back_up(book, file)
    print(f"copied into {file}")
    return 0


@shelf.command(name="restore", sort_key=13)
def restore_from(file: Annotated[Path, Parameter(help="The backup.")], /, *, stock: BookFile = None) -> int:
    """Put a backup in the book's place; what stood there is kept beside it."""
    path = stock_path(stock)
    path.parent.mkdir(parents=True, exist_ok=True)
    kept = restore(file, path)
    print(f"restored from {file}" + (f"; what stood there is kept as {kept.name}" if kept else ""))
    return 0


def _lots(number: int) -> str:
    return "1 lot" if number == 1 else f"{number} lots"


def _things(number: int) -> str:
    return "1 thing" if number == 1 else f"{number} things"


def _tell_near(part: str) -> None:
    """Say so where a part is called almost as one of the catalogue: no plan would draw on it."""
    if near := near_name(part):
        print(f'the catalogue has no "{part}": did you mean "{near}"? Plans draw on what is called as they call it')


def _tell(lot: Lot) -> None:
    reserved = f", {lot.reserved} of them kept for a piece" if lot.reserved else ""
    print(f"lot {lot.number}: {lot.what.count} × {lot.what.part} left{reserved}")


def _quantity(text: str, kind: Kind) -> float | None:
    """Return a quantity in SI, or nothing where none is given."""
    if not text:
        return None
    try:
        value = parse(text, kind)
    except UnitError as error:
        raise MakerError([replace(error.problem, place=None)]) from error
    if kind != "share" and value <= 0:
        summary = f"this {kind} is too small"
        raise MakerError([Problem("STOCK-005", summary, f'"{text}"', "more than nothing", "write what it is")])
    return value
