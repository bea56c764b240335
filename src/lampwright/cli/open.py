"""``lampwright open``: the piece, or the brief, on a page of this computer's own browser."""

from __future__ import annotations

import webbrowser
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter
from cyclopts.validators import Number

from lampwright.cli.options import ShelfFile, ShopFile
from lampwright.making import read_shelf, read_shop
from lampwright.page.brief import Lists
from lampwright.page.server import serve
from lampwright.piece.toml import read_text
from lampwright.propose import is_brief, read_brief
from lampwright.units import MakerError, Problem

PieceOrBrief = Annotated[Path, Parameter(help="The piece file, or a brief to search first designs for.")]

Port = Annotated[
    int,
    Parameter(name="--port", help="Port to listen on; otherwise any free one.", validator=Number(gte=0, lte=65535)),
]
NoBrowser = Annotated[bool, Parameter(name="--no-browser", negative="", help="Print the address only.")]


def open_page(
    piece: PieceOrBrief,
    /,
    *,
    port: Port = 0,
    no_browser: NoBrowser = False,
    shelf: ShelfFile | None = None,
    shop: ShopFile | None = None,
) -> int:
    """Open a page with the piece: see it, turn it, change it. Or with a brief: change it, see what could be built.

    The page is served to this computer alone, by the address that is printed, until Ctrl-C. Every change is
    checked as the file would be; the file itself is written only by "Write the file". A brief's candidates are
    searched anew after each change, with what lies on the shelf and your own prices if you name them.
    """

    return show_page(piece, port, no_browser, lists=_lists(piece, shelf, shop))


def show_page(piece: Path, port: int = 0, no_browser: bool = False, part: str = "", lists: Lists | None = None) -> int:
    """Serve the page of a piece until Ctrl-C, opened at a part of it such as "#inspect", or that of a brief."""

    def tell(address: str) -> None:
        print(f"the page is at {address}{part}\nCtrl-C ends it", flush=True)
        if not no_browser:
            webbrowser.open(address + part)

    serve(piece, port, tell, lists)
    return 0


def _lists(file: Path, shelf: Path | None, shop: Path | None) -> Lists:
    """Return the lists that a brief is searched with; a piece's page has no use for them."""
    if shelf is None and shop is None:
        return Lists()
    if not is_brief(read_text(file)):
        option = "--shelf" if shelf is not None else "--shop"
        do = f"leave {option} out; the commands cuts, shopping and week take it"
        raise MakerError([Problem("PAGE-011", "a piece's page takes no lists", option, "lists with a brief", do)])
    name = read_brief(file).name
    return Lists(read_shelf(shelf, name) if shelf else (), read_shop(shop) if shop else ())
