"""What gives without darkening anything, and how often it is judged to: read from ``wear.toml``."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from enum import Enum
from functools import cache
from importlib import resources

from lampwright.faults.kinds import PLACED, Per, Rate


class Wear(Enum):
    """What gives; the value is its name in ``wear.toml``."""

    TORN_SLEEVE = "torn-sleeve"
    SLIPPED_TIE = "slipped-tie"
    TAPE_LET_GO = "tape-let-go"
    BENT = "bent"


AT_PLACES = frozenset({*(kind.value for kind in PLACED), Wear.TORN_SLEEVE.value})
"""Names of the kinds of fault and wear that come at a :class:`~lampwright.faults.kinds.Place`."""


@dataclass(frozen=True)
class WearFacts:
    """What is known of a kind of wear."""

    title: str
    rate: Rate
    """Per night, of each stretch of strip or each member."""
    source: str


@cache
def all_wear() -> dict[Wear, WearFacts]:
    """Return what is known of every kind of wear; the file is read once."""
    text = resources.files("lampwright.faults").joinpath("wear.toml").read_text(encoding="utf-8")
    rows = tomllib.loads(text)
    return {wear: _facts(rows[wear.value]) for wear in Wear}


def _facts(row: dict[str, str | float]) -> WearFacts:
    return WearFacts(str(row["title"]), Rate(Per.NIGHT, float(row["bad"]), float(row["good"])), str(row["source"]))
