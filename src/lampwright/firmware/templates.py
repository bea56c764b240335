"""Text templates kept as data files beside this module, in ``cpp/``."""

from __future__ import annotations

import string
from collections.abc import Mapping
from importlib import resources


class _Template(string.Template):
    """``@{name}`` stands for a value: neither C++ nor make gives that sign a meaning."""

    delimiter = "@"


def fill(name: str, values: Mapping[str, object]) -> str:
    """Return the template file ``name`` with each ``@{value}`` filled in; a value missing is our bug."""
    text = resources.files("lampwright.firmware").joinpath("cpp", name).read_text(encoding="utf-8")
    return _Template(text).substitute(values)
