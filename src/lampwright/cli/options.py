"""Arguments that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from lampwright.units import MakerError, Problem

PieceFile = Annotated[Path, Parameter(help="The piece file, such as garden.toml.")]
AsJson = Annotated[bool, Parameter(name="--json", negative="", help="Print findings as JSON.")]
OutFolder = Annotated[Path, Parameter(name="--out", help="Folder for what is made.")]
ShelfFile = Annotated[Path, Parameter(help="What lies on the shelf: a stock book, or CSV of part, length, count.")]
ShopFile = Annotated[Path, Parameter(help="CSV file of what is sold: part, length, price, pack, days.")]


def file_to_write(path: Path, *endings: str) -> Path:
    """Return the path of ``--out`` once it is sure that nothing of the maker's is lost by writing it.

    Asked before the work, so that nobody waits for what can't be kept.

    Raises
    ------
    MakerError
        COMMAND-004: it is a folder, or doesn't end as what is written does, as a piece file wouldn't.
    """
    if path.is_dir() or path.suffix.lower() not in endings:
        found = f"{path}, a folder" if path.is_dir() else str(path)
        allowed = "a file that ends in " + " or ".join(endings)
        do = f"write --out {(path / f'{path.name}{endings[0]}') if path.is_dir() else path.with_suffix(endings[0])}"
        raise MakerError([Problem("COMMAND-004", "this is not the place for what is made", found, allowed, do)])
    return path
