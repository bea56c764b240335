"""What each table of a brief may hold: those of a piece file's head, and the wish."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from typing import Any

from lampwright.piece.keys import Key, keys_at, keys_of, rows_of
from lampwright.piece.source import Path
from lampwright.propose.wish import WishEntry

AS_IN_A_PIECE = ("zigzag", "fixing")
"""Tables of the wish that a section of a piece file has too."""


def brief_keys_of(entries: Mapping[str, Any], path: Path) -> tuple[Key, ...]:
    """Return the keys that the table at ``path`` of a brief may hold, as :func:`lampwright.piece.keys.keys_of`."""
    if path[0] != "wish":
        return keys_of(entries, path)
    return keys_at(WishEntry, entries["wish"], path[1:], wish_rows(path))


def wish_rows(path: Path) -> Mapping[str, Any]:
    """Return what is said of each key of a table of the wish."""
    if path[-1] in AS_IN_A_PIECE:
        return rows_of(("circuit", "run", "section", path[-1]))
    return _rows().get(".".join(str(step) for step in path), {})


@cache
def _rows() -> Mapping[str, Mapping[str, Any]]:
    text = (resources.files("lampwright.propose") / "keys.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
