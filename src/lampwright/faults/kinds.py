"""The kinds of faults, how often each comes, and what is known of that: read from ``kinds.toml``."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from functools import cache
from importlib import resources
from typing import TypeVar

from lampwright.parts.model import Status


class FaultKind(Enum):
    """What goes wrong; the value is its name in ``kinds.toml``."""

    PACK_EMPTY = "pack-empty"
    PACK_OFF = "pack-off"
    PACK_COLD = "pack-cold"
    PLUG_OUT = "plug-out"
    CABLE_BROKEN = "cable-broken"
    RAIL_SHORT = "rail-short"
    LEFT_OFF = "left-off"
    SWITCHED_LATE = "switched-late"
    BOARD_DEAD = "board-dead"
    BOARD_HUNG = "board-hung"
    BOARD_RESET = "board-reset"
    DATA_OPEN = "data-open"
    PIXEL_DEAD = "pixel-dead"
    RAIL_OPEN = "rail-open"
    FEED_OPEN = "feed-open"
    WET_JOINT = "wet-joint"
    SPAN_TORN = "span-torn"
    POST_DOWN = "post-down"
    SUPPLY_DEAD = "supply-dead"
    SUPPLY_CABLE = "supply-cable"
    OUTLET_OFF = "outlet-off"
    FUSE_BLOWN = "fuse-blown"


class Place(Enum):
    """Where on a run strip fails; the value is its name in the stock book."""

    HEAD = "head"
    TRANSITION = "transition"
    FREE = "free span"
    FIXED = "fixed stretch"

    @property
    def where(self) -> str:
        """As in "a rail is open, at a transition"."""
        return _WHERE[self]


_WHERE = {
    Place.HEAD: "where data enters a run",
    Place.TRANSITION: "at a transition",
    Place.FREE: "in a free span",
    Place.FIXED: "in a fixed stretch",
}

PLACED = (FaultKind.RAIL_OPEN, FaultKind.DATA_OPEN, FaultKind.WET_JOINT, FaultKind.PIXEL_DEAD)
"""Kinds that come at a :class:`Place`; the others come wherever their thing is."""

Spot = FaultKind | tuple[FaultKind, Place]
"""A kind of fault, or a kind at one place, where that place has shown a rate of its own."""

Value = TypeVar("Value")


def at_place(known: Mapping[Spot, Value], kind: FaultKind, place: Place | None) -> Value:
    """Return what is known of a kind at a place: its own where there is one, else that of the kind."""
    own = known.get((kind, place)) if place is not None else None
    return known[kind] if own is None else own


class Per(Enum):
    """What a rate counts."""

    NIGHT = "night"
    HOUR = "hour"


@dataclass(frozen=True)
class Rate:
    """How often something fails, and how well that is known.

    Per night a chance, spread as Beta(``bad``, ``good``); per hour a rate, spread as Gamma(``bad``) over ``good``
    hours. So ``bad`` and ``good`` read as failures seen and nights without one, or hours watched, and what a maker
    sees is simply added.
    """

    per: Per
    bad: float
    good: float

    @property
    def mean(self) -> float:
        """Expected chance a night, or rate an hour."""
        return self.bad / (self.bad + self.good) if self.per is Per.NIGHT else self.bad / self.good

    @property
    def watched(self) -> float:
        """Nights or hours that it rests on, as if they had been watched: what this weighs against what is seen."""
        return self.bad + self.good if self.per is Per.NIGHT else self.good

    def chance(self, hours: float, value: float | None = None) -> float:
        """Return the chance of at least one failure in a night of so many hours; ``value`` replaces the mean."""
        value = self.mean if value is None else value
        return value if self.per is Per.NIGHT else -math.expm1(-value * hours)

    def learn(self, bad: float, watched: float) -> Rate:
        """Return the rate after ``bad`` failures in ``watched`` nights or hours.

        Source
        ------
        Conjugate updating of Beta and Gamma distributions, any text on Bayesian statistics.
        """
        return replace(self, bad=self.bad + bad, good=self.good + watched - (bad if self.per is Per.NIGHT else 0.0))


Rates = Mapping[Spot, Rate]
"""The rate of every kind, and of a kind at a place where it has one of its own."""


@dataclass(frozen=True)
class KindFacts:
    """What is known of a kind of fault."""

    kind: FaultKind
    title: str
    """As in "arch 2: the plug is out"."""
    rate: Rate
    status: Status
    source: str
    lasts: float
    """How long until it mends itself; ``inf``: not this evening. [s]"""
    spare: str
    """What it takes from the case; empty where nothing is replaced."""


@cache
def all_kinds() -> dict[FaultKind, KindFacts]:
    """Return what is known of every kind; the file is read once."""
    text = resources.files("lampwright.faults").joinpath("kinds.toml").read_text(encoding="utf-8")
    rows = tomllib.loads(text)
    return {kind: _facts(kind, rows[kind.value]) for kind in FaultKind}


def _facts(kind: FaultKind, row: dict[str, str | float]) -> KindFacts:
    return KindFacts(
        kind=kind,
        title=str(row["title"]),
        rate=Rate(Per(row["per"]), float(row["bad"]), float(row["good"])),
        status=Status(row["status"]),
        source=str(row["source"]),
        lasts=float(row["lasts"]),
        spare=str(row["spare"]),
    )
