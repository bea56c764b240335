"""``lampwright drawing``: the piece to scale, to print and to build by."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

from lampwright.book.drawing import PAPERS, draw_piece, drawing_pdf
from lampwright.cli.options import OutFolder, PieceFile
from lampwright.layout import lay_out
from lampwright.piece import read_piece
from lampwright.written import write_whole

PaperName = Annotated[Literal["a3", "a4"], Parameter(name="--paper", help="Paper to print on, landscape.")]


def drawing(piece: PieceFile, /, *, paper: PaperName = "a3", out: OutFolder = Path("out")) -> int:
    """Draw plan, elevations and isometric with dimensions, and tables of all that is drawn, as PDF and SVG.

    Every sheet is as large as its paper: print it at its own size and the scale in the title strip holds.
    """
    layout = lay_out(read_piece(piece))
    sheets = draw_piece(layout, PAPERS[paper.upper()])
    folder = out / "drawing"
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("sheet-*.svg"):
        old.unlink()
    for number, sheet in enumerate(sheets):
        write_whole(folder / f"sheet-{number + 1}.svg", sheet)
    write_whole(folder / "drawing.pdf", drawing_pdf(layout.piece.brief.name, sheets, PAPERS[paper.upper()]))
    print(
        f"{len(sheets)} sheets of {paper.upper()} in {folder}, as PDF and SVG: print at 100 %, not fitted to the page"
    )
    return 0
