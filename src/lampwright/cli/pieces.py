"""Reading a piece, with its own parts' figures where they were measured on the shelf."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from lampwright.piece import Piece, read_piece
from lampwright.signoff import with_measured
from lampwright.stock import open_stock, reservations

MeasuredIn = Annotated[
    Path | None,
    Parameter(name="--shelf", help="Stock book: packs and boards reserved for the piece count as measured there."),
]


def read_with_measured(path: Path, shelf: Path | None) -> Piece:
    """Return a piece; with a stock book, by what was measured of the packs and boards that are reserved for it."""
    piece = read_piece(path)
    if shelf is None:
        return piece
    with open_stock(shelf) as book:
        kept = reservations(book, piece.brief.name)
    return with_measured(piece, kept)
