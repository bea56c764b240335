"""Reading a piece, with its own parts' figures where they were measured on the shelf."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from lampwright.piece import Piece, read_piece
from lampwright.signoff import parts_from, with_measured

MeasuredIn = Annotated[
    Path | None,
    Parameter(name="--shelf", help="Stock book: packs, boards and strip that the piece has of it count as measured."),
]


def read_with_measured(path: Path, shelf: Path | None) -> Piece:
    """Return a piece; with a stock book, by what was measured of what is reserved for it, or what it would take."""
    piece = read_piece(path)
    return piece if shelf is None else with_measured(piece, parts_from(shelf, piece))
