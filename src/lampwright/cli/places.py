"""``lampwright places``: where every pixel is, for other programs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from lampwright.cli.options import PieceFile, file_to_write
from lampwright.layout import lay_out, write_places
from lampwright.piece import read_piece

PlacesFile = Annotated[
    Path | None,
    Parameter(name="--out", help="The file to write, ending in .csv or .json; otherwise beside the piece file."),
]


def places(piece: PieceFile, /, *, out: PlacesFile = None) -> int:
    """Write the place of every pixel in metres, as CSV or JSON.

    Each pixel with its circuit, run and section, its number in the run, the strip's length from the
    run's head, x, y, z in the piece's axes, and the direction in which the data goes on along the strip.
    """
    file = file_to_write(out, ".csv", ".json") if out else piece.with_suffix(".csv")
    layout = lay_out(read_piece(piece))
    write_places(file, layout)
    print(f"wrote {file}: {sum(circuit.n_pixel for circuit in layout.circuits)} pixels")
    return 0
