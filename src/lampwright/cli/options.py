"""Arguments that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

PieceFile = Annotated[Path, Parameter(help="The piece file, such as garden.toml.")]
AsJson = Annotated[bool, Parameter(name="--json", negative="", help="Print findings as JSON.")]
OutFolder = Annotated[Path, Parameter(name="--out", help="Folder for what is made.")]
ShelfFile = Annotated[Path, Parameter(help="What lies on the shelf: a stock book, or CSV of part, length, count.")]
ShopFile = Annotated[Path, Parameter(help="CSV file of what is sold: part, length, price, pack, days.")]
