"""``lampwright wiring``: the wiring drawing of each circuit, and lists of its wires and joints."""

from __future__ import annotations

from pathlib import Path

from lampwright.book import joints_csv, wires_csv
from lampwright.book.wiring import draw_wiring
from lampwright.cli.options import OutFolder, PieceFile, ShelfFile, ShopFile
from lampwright.layout import lay_out
from lampwright.making import cut_all, harnesses_of, read_shelf, read_shop
from lampwright.piece import read_piece
from lampwright.signoff import folder_names
from lampwright.written import write_whole


def wiring(
    piece: PieceFile,
    /,
    *,
    shelf: ShelfFile | None = None,
    shop: ShopFile | None = None,
    out: OutFolder = Path("out"),
) -> int:
    """Draw the wiring of each circuit as SVG for A4, and list its wires and joints as CSV.

    Where strip is longer than any reel in your lists, it is joined: those joints are drawn and listed too.
    """
    read = read_piece(piece)
    layout = lay_out(read)
    cuts = cut_all(layout, read_shelf(shelf, read.brief.name) if shelf else (), read_shop(shop) if shop else ())
    harnesses = harnesses_of(layout, cuts)
    folder = out / "wiring"
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("*.svg"):
        old.unlink()
    names = folder_names([harness.circuit for harness in harnesses])
    count = 0
    for circuit, harness, name in zip(layout.circuits, harnesses, names, strict=True):
        for number, sheet in enumerate(draw_wiring(layout, circuit, harness), start=1):
            write_whole(folder / f"{name}-{number}.svg", sheet)
            count += 1
    write_whole(folder / "wires.csv", wires_csv(harnesses))
    write_whole(folder / "joints.csv", joints_csv(harnesses))
    n_solder = sum(harness.n_solder for harness in harnesses)
    print(f"{count} sheets, wires.csv and joints.csv in {folder}: {n_solder} solder joints")
    return 0
