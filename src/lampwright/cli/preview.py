"""``lampwright preview``: the living piece as one file, or pictures of it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from lampwright.cli.bars import Bars
from lampwright.cli.options import PieceFile, file_to_write
from lampwright.cli.pictures import Pictures, write_pictures
from lampwright.page.preview import may_flash, write_preview
from lampwright.page.scene import scene_of
from lampwright.piece import read_piece
from lampwright.signoff import sign_off

PreviewFile = Annotated[
    Path | None, Parameter(name="--out", help="The file to write; otherwise beside the piece file, ending in .html.")
]


def preview(piece: PieceFile, /, *, out: PreviewFile = None, pictures: Pictures | None = None) -> int:
    """Write a page with the living piece, to send to whoever ordered it; or a picture, or a film.

    One file that opens in a browser from disk, with no network: the piece at dusk, every pixel as the
    chips will send it, standby and show on a time bar. Every frame is screened for flashes first; a show
    that may flash too fast stands still until it is asked for.

    With --still or --film a picture is written instead, and the page too only with --out. A film starts by itself
    wherever it is opened, so one that may flash too fast is written only when that is asked for.
    """
    file = file_to_write(out, ".html", ".htm") if out else piece.with_suffix(".html")
    if pictures is not None and (pictures.still or pictures.film):
        write_pictures(piece, pictures)
        if out is None:
            return 0
    with Bars() as bars:
        report = sign_off(read_piece(piece), bars)
    write_preview(file, scene_of(report.piece, report.shows), may_flash(report.findings))
    print(f"wrote {file}: open it in a browser, or send it")
    return 0
