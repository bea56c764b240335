"""What the crew sees, and what to do about it in two minutes: for the faults this very piece can have."""

from __future__ import annotations

from lampwright.faults.every import Body, every_fault
from lampwright.faults.kinds import FaultKind, KindFacts, all_kinds
from lampwright.faults.odds import evening_hours


def repairs(body: Body) -> tuple[KindFacts, ...]:
    """Return the kinds of faults that this piece can have, the likeliest of an evening first."""
    hours = evening_hours(body)
    expected: dict[FaultKind, float] = {}
    for fault in every_fault(body):
        expected[fault.kind] = expected.get(fault.kind, 0.0) + all_kinds()[fault.kind].rate.chance(hours)
    return tuple(all_kinds()[kind] for kind in sorted(expected, key=lambda kind: -expected[kind]))
