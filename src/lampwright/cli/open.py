"""``lampwright open``: the piece on a page of this computer's own browser."""

from __future__ import annotations

import webbrowser
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter
from cyclopts.validators import Number

from lampwright.cli.options import PieceFile
from lampwright.page.server import serve

Port = Annotated[
    int,
    Parameter(name="--port", help="Port to listen on; otherwise any free one.", validator=Number(gte=0, lte=65535)),
]
NoBrowser = Annotated[bool, Parameter(name="--no-browser", negative="", help="Print the address only.")]


def open_page(piece: PieceFile, /, *, port: Port = 0, no_browser: NoBrowser = False) -> int:
    """Open a page with the piece: see it, turn it, change it.

    The page is served to this computer alone, by the address that is printed, until Ctrl-C. Every change is
    checked as the file would be; the file itself is written only by "Write the file".
    """

    return show_page(piece, port, no_browser)


def show_page(piece: Path, port: int = 0, no_browser: bool = False, part: str = "") -> int:
    """Serve the page of a piece until Ctrl-C, opened at a part of it such as "#inspect"."""

    def tell(address: str) -> None:
        print(f"the page is at {address}{part}\nCtrl-C ends it", flush=True)
        if not no_browser:
            webbrowser.open(address + part)

    serve(piece, port, tell)
    return 0
