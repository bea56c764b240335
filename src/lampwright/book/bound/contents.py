"""What a book is made from, and the names of its parts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from lampwright.findings.model import Finding
from lampwright.layout.model import Layout
from lampwright.making import Harness, MaterialCuts, ShoppingList

PartName = Literal[
    "cautions",
    "drawing",
    "parts",
    "cuts",
    "wiring",
    "joints",
    "bench",
    "firmware",
    "run",
    "setup",
    "card",
    "inspection",
    "checks",
]
"""In the order of the book."""

PARTS: tuple[PartName, ...] = get_args(PartName)

NEEDS_CHECK = frozenset({"firmware", "checks"})
"""Parts that can't be made before every frame of the show was weighed."""


@dataclass(frozen=True)
class FirmwareIdentity:
    """What names the firmware of a circuit."""

    circuit: str
    sha256: str
    what: str
    """What the hash is of."""
    size: str


@dataclass(frozen=True)
class Money:
    """What may be spent, and in what; a budget of ``None`` is not stated."""

    currency: str
    budget: float | None


@dataclass(frozen=True)
class Contents:
    """All that a book tells."""

    layout: Layout
    piece_hash: str
    """SHA-256 of the piece file."""
    version: str
    cuts: Sequence[MaterialCuts]
    harnesses: Sequence[Harness]
    bought: ShoppingList
    money: Money
    findings: Sequence[Finding]
    firmware: Sequence[FirmwareIdentity]
