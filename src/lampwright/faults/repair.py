"""What the crew sees, and what to do about it in two minutes: for the faults that this very piece can have."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from lampwright.faults.every import Body, every_fault
from lampwright.faults.kinds import FaultKind, all_kinds
from lampwright.faults.odds import evening_hours


@dataclass(frozen=True)
class Repair:
    """A short path from what is seen to what is done."""

    kinds: tuple[FaultKind, ...]
    """Faults that look like this."""
    sees: str
    steps: tuple[str, ...]
    """In the order in which they are tried."""


def repairs(body: Body, language: str = "en") -> tuple[Repair, ...]:
    """Return what can be seen going wrong with a piece and what to do, the likeliest of an evening first.

    Raises
    ------
    KeyError
        No text in this language: see :func:`repair_languages`.
    """
    hours = evening_hours(body)
    expected: dict[FaultKind, float] = {}
    for fault in every_fault(body):
        expected[fault.kind] = expected.get(fault.kind, 0.0) + all_kinds()[fault.kind].rate.chance(hours)
    found = []
    for row in _symptoms_of(body):
        kinds = tuple(FaultKind(kind) for kind in row["kinds"] if FaultKind(kind) in expected)
        if kinds and _is_told(row, body):
            steps = tuple(
                step[language] for step in row["step"] if any(FaultKind(kind) in expected for kind in step["kinds"])
            )
            found.append(Repair(kinds, row["sees"][language], steps))
    return tuple(sorted(dict.fromkeys(found), key=lambda each: -sum(expected[kind] for kind in each.kinds)))


def repair_languages() -> frozenset[str]:
    """Return the languages that every text stands in, such as "en"."""
    rows = [*_symptoms("symptoms"), *_symptoms("symptoms-mains")]
    return frozenset.intersection(*(frozenset(row["sees"]) for row in rows))


def _is_told(row: dict[str, Any], body: Body) -> bool:
    """Return whether a symptom can be seen on what stands, or on what is carried, of this piece."""
    match row.get("of"):
        case "standing":
            return body.piece.has_standing
        case "carried":
            return body.piece.has_carried
        case _:
            return True


def _symptoms_of(body: Body) -> list[dict[str, Any]]:
    """Return the symptoms in the words for packs or for supplies; where a piece has both, in words that fit both."""
    plain = _symptoms("symptoms")
    if not any(one.outlet for one in body.anatomies):
        return plain
    of_mains = {row["name"]: row for row in _symptoms("symptoms-mains")}
    has_packs = not all(one.outlet for one in body.anatomies)
    found = []
    for row in plain:
        mains = of_mains.get(row["name"], {"beside": True})
        if mains.get("beside") and (has_packs or row["name"] not in of_mains):
            found.append(row)
        if row["name"] in of_mains:
            found.append(of_mains.pop(row["name"]))
    return [*found, *of_mains.values()]


@cache
def _symptoms(file: str) -> list[dict[str, Any]]:
    text = resources.files("lampwright.faults").joinpath(f"{file}.toml").read_text(encoding="utf-8")
    found: list[dict[str, Any]] = tomllib.loads(text)["symptom"]
    return found
