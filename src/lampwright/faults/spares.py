"""How many of each part to bring over a run of nights, and what of it fits one case.

Failures of a part over a run of nights are counted as Poisson: many units, each with a small chance.
"""

from __future__ import annotations

import itertools
import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np

from lampwright.faults.every import Body, every_fault
from lampwright.faults.kinds import Rates, all_kinds, at_place
from lampwright.faults.odds import evening_hours, rates

CONFIDENCE = 0.95
"""Of each part alone, unless said otherwise (our choice)."""

MOST_OF_EACH = 12
"""Spares of one part that are considered for the case."""


@dataclass(frozen=True)
class CaseItem:
    """A part as it lies in the case."""

    name: str
    title: str
    mass: float  # [kg]
    volume: float  # [m³]


@dataclass(frozen=True)
class Spare:
    """A part, how many of it will fail, and how many to bring."""

    item: CaseItem
    expected: float
    """Failures over all nights, in the mean."""
    count: int
    """Least number that suffices with the stated confidence."""
    confidence: float
    """With which that many suffice."""


@dataclass(frozen=True)
class Packed:
    """What goes into the case."""

    counts: Mapping[str, int]
    mass: float  # [kg]
    volume: float  # [m³]
    confidence: float
    """That all of it suffices, all parts together."""


@cache
def case_items() -> dict[str, CaseItem]:
    """Return what a spare weighs and takes, by its name in ``kinds.toml``."""
    text = resources.files("lampwright.faults").joinpath("spares.toml").read_text(encoding="utf-8")
    rows = tomllib.loads(text)
    return {name: CaseItem(name, row["title"], row["grams"] / 1e3, row["litres"] / 1e3) for name, row in rows.items()}


def poisson_at_most(count: int, mean: float) -> float:
    """Return the chance of at most ``count`` failures where ``mean`` are expected."""
    return math.fsum(math.exp(-mean) * mean**k / math.factorial(k) for k in range(count + 1))


def spares_needed(mean: float, confidence: float) -> int:
    """Return the least number of spares that suffices with this confidence.

    Source
    ------
    Least s with P(N ≤ s) ≥ confidence, N Poisson: any text on spare parts provisioning.
    """
    if not 0 <= confidence < 1:
        raise ValueError(f"a confidence from 0 to below 1, not {confidence}")
    count = 0
    while poisson_at_most(count, mean) < confidence:
        count += 1
    return count


def expected_failures(body: Body, nights: float, known: Rates | None = None) -> dict[str, float]:
    """Return how many of each spare the faults of a piece will take over a run of nights, in the mean."""
    known = rates() if known is None else known
    hours = evening_hours(body)
    expected: dict[str, float] = {}
    for fault in every_fault(body):
        if spare := all_kinds()[fault.kind].spare:
            expected[spare] = expected.get(spare, 0.0) + nights * at_place(known, fault.kind, fault.place).chance(hours)
    return expected


def plan_spares(
    body: Body, nights: float, confidence: float = CONFIDENCE, known: Rates | None = None
) -> tuple[Spare, ...]:
    """Return how many of each part to bring, those that fail most first."""
    found = []
    for name, mean in expected_failures(body, nights, known).items():
        count = spares_needed(mean, confidence)
        found.append(Spare(case_items()[name], mean, count, poisson_at_most(count, mean)))
    return tuple(sorted(found, key=lambda spare: -spare.expected))


def pack_case(spares: Sequence[Spare], mass: float, volume: float) -> Packed:
    """Return the spares that make it most likely that none is missing, within a case's mass [kg] and volume [m³].

    Exact: every choice up to what is planned of each part is looked at.
    """
    if not spares:
        return Packed({}, 0.0, 0.0, 1.0)
    ranges = [range(min(each.count, MOST_OF_EACH) + 1) for each in spares]
    choices = np.array(list(itertools.product(*ranges)))
    masses = choices @ np.array([each.item.mass for each in spares])
    volumes = choices @ np.array([each.item.volume for each in spares])
    tables = [
        [math.log(poisson_at_most(n, each.expected)) for n in of] for each, of in zip(spares, ranges, strict=True)
    ]
    worth = sum(np.array(table)[choices[:, i]] for i, table in enumerate(tables))
    fits = (masses <= mass + 1e-12) & (volumes <= volume + 1e-12)
    best = int(np.where(fits, worth, -np.inf).argmax())
    counts = {each.item.name: int(n) for each, n in zip(spares, choices[best], strict=True)}
    return Packed(counts, float(masses[best]), float(volumes[best]), float(np.exp(np.asarray(worth)[best])))
