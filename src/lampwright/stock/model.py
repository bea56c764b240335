"""What the stock book holds."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

CONDITIONS = ("new", "good", "untested", "worn", "broken")
"""From the best to what only waits to be thrown away."""

USABLE = ("new", "good", "worn")
"""Conditions in which a part is planned with; what is untested has to be tested first."""


@dataclass(frozen=True)
class NewLot:
    """Things that are alike and lie together, before they have a number."""

    part: str
    """As the catalogue and the cut plan call it, such as "ws2812b-60" or "awg-18 red"."""
    count: int = 1
    length: float | None = None
    """Of each; ``None``: by the piece. [m]"""
    place: str = ""
    """Where it lies, such as "box 3"."""
    cost: int | None = None
    """Of one, in hundredths of the currency."""
    condition: str = "good"
    note: str = ""
    origin: str = ""
    """The piece it came back from; empty: bought."""
    joints: int = 0
    """Of strip: made by hand within it."""
    sleeve: str = ""
    """Of strip: such as "whole", "torn at 1.2 m"."""
    cycles: float | None = None
    """Of a pack: full charges so far."""
    capacity: float | None = None
    """Of a pack: charge as measured. [C]"""
    clock_error: float | None = None
    """Of a board: as measured, positive where it is fast. [1]"""
    bent: str = ""
    """Of tube: its straight lengths and bends in turn, as :attr:`BentTube.text` says them; empty: straight."""
    pixels: int | None = None
    """Of strip: on how many of them the meter was."""
    volts: float | None = None
    """Then: at the head, all of them white. [V]"""
    far: float | None = None
    """Likewise: at the far end. [V]"""
    white: float | None = None
    """Then: all of them white. [A]"""
    dark: float | None = None
    """Then: all of them dark. [A]"""


@dataclass(frozen=True)
class Lot:
    """A lot of the book."""

    number: int
    """By which the maker calls it; never given again."""
    what: NewLot
    added: datetime.date
    reserved: int
    """How many of it are spoken for."""

    @property
    def free(self) -> int:
        """How many nobody has spoken for."""
        return self.what.count - self.reserved


@dataclass(frozen=True)
class Entry:
    """One line of a lot's history."""

    at: str
    """Date and time, ISO 8601, UTC."""
    what: str
    """Such as "added", "taken", "counted", "reserved", "issued", "came back", "measured"."""
    count: int
    piece: str
    note: str
