"""``lampwright new``: a piece file to start from."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from lampwright.piece import write_new


def new(
    path: Annotated[Path, Parameter(help="The file to write, such as garden.toml; never overwritten.")],
    /,
    *,
    name: Annotated[str, Parameter(help="The piece's name; otherwise made from the file's.")] = "",
) -> int:
    """Write a small piece file to start from.

    It is complete and passes its checks: change one thing at a time, and check again.
    """
    write_new(path, name or path.stem.replace("-", " ").replace("_", " ").title())
    print(f"wrote {path}\nnext: {shlex.join(['lampwright', 'check', str(path)])}")
    return 0
