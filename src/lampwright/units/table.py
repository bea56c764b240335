"""The table of units and kinds, read once from ``units.toml``."""

from __future__ import annotations

import difflib
import math
import tomllib
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib import resources
from typing import Literal, get_args

Kind = Literal[
    "length",
    "density",
    "time",
    "charge",
    "current",
    "voltage",
    "resistance",
    "linear resistance",
    "capacitance",
    "mass",
    "linear mass",
    "temperature",
    "speed",
    "share",
    "rate",
    "angle",
    "power",
    "energy",
    "area",
    "frequency",
    "memory",
    "force",
    "pressure",
]
"""What a quantity measures."""

KINDS: tuple[Kind, ...] = get_args(Kind)


@dataclass(frozen=True)
class KindWords:
    """How a kind is spoken of in messages."""

    phrase: str
    """With its article, such as "a length"."""
    example: str
    """A text that a maker could copy, such as "2.4 m"."""


@dataclass(frozen=True)
class Unit:
    """A unit: SI value = (number + ``offset``) * ``factor``, times pi where ``times_pi``."""

    spellings: tuple[str, ...]
    kinds: tuple[Kind, ...]
    factor: Fraction
    offset: Fraction
    times_pi: bool
    print_from: float | None
    """From this SI value on, quantities are printed in this unit; ``None``: never."""
    print_kinds: tuple[Kind, ...]
    """Kinds of quantity that are printed in it."""
    then: str
    """The unit that people say after it, as in "8 ft 6 in"; empty: none."""

    @property
    def name(self) -> str:
        """The spelling that is printed."""
        return self.spellings[0]

    def to_si(self, number: Fraction) -> float:
        """Return ``number`` of this unit in SI, rounded once."""
        exact = (number + self.offset) * self.factor
        return float(exact) * math.pi if self.times_pi else float(exact)

    def from_si(self, value: float) -> float:
        """Return how many of this unit an SI ``value`` is."""
        scale = math.pi if self.times_pi else 1.0
        return value / (float(self.factor) * scale) - float(self.offset)


@dataclass(frozen=True)
class UnitTable:
    """All units by spelling and all kinds by name."""

    units: tuple[Unit, ...]
    by_spelling: dict[str, Unit]
    kinds: dict[Kind, KindWords]

    def of_kind(self, kind: Kind) -> tuple[Unit, ...]:
        """Return the units that measure ``kind``, in the table's order."""
        return tuple(unit for unit in self.units if kind in unit.kinds)

    def nearest(self, spelling: str, kind: Kind | None) -> Unit | None:
        """Return the unit of this kind whose spelling comes closest, or ``None``."""
        candidates = self.units if kind is None else self.of_kind(kind)
        spellings = [text for unit in candidates for text in unit.spellings]
        same_letters = [text for text in spellings if text.lower() == spelling.lower()]
        close = same_letters or difflib.get_close_matches(spelling, spellings, n=1, cutoff=0.5)
        return self.by_spelling[close[0]] if close else None


def _exact(text: str) -> Fraction:
    """Read "0.0254" or "1852/3600" or "1/0.3048" without rounding."""
    top, _, bottom = text.partition("/")
    return Fraction(top) / Fraction(bottom or "1")


@cache
def unit_table() -> UnitTable:
    """Return the table of units; read from the package's data on first use."""
    text = resources.files("lampwright.units").joinpath("units.toml").read_text(encoding="utf-8")
    raw = tomllib.loads(text)
    units = tuple(
        Unit(
            spellings=tuple(row["spellings"]),
            kinds=tuple(row["kinds"]),
            factor=_exact(row["factor"]),
            offset=_exact(row.get("offset", "0")),
            times_pi=row.get("times_pi", False),
            print_from=row.get("print_from"),
            print_kinds=tuple(row.get("print_kinds", row["kinds"])),
            then=row.get("then", ""),
        )
        for row in raw["unit"]
    )
    kinds = {kind: KindWords(**raw["kind"][kind]) for kind in KINDS}
    return UnitTable(units, {text: unit for unit in units for text in unit.spellings}, kinds)
