"""A brief that can't be met: which demand is in the way, and the smallest change that would do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lampwright.findings.model import Finding, Severity
from lampwright.propose.search import Demand
from lampwright.propose.weigh import Option


@dataclass(frozen=True)
class Change:
    """One demand, and what it would have to be for something to meet all others."""

    demand: Demand
    to: float
    option: Option
    """The cheapest that then meets the brief."""


@dataclass(frozen=True)
class Edit:
    """A value of the brief file, as it would stand there."""

    key: str
    path: tuple[str, ...]
    value: str


def ways_out(options: Sequence[Option], demands: Sequence[Demand]) -> tuple[tuple[Edit, ...], ...]:
    """Return edits of the brief after each of which some option meets it, the smallest change first.

    Several at once where no single demand is in the way; nothing where no option can be built.
    """
    if not options:
        return ()
    if changes := smallest_changes(options, demands):
        return tuple((_edit(each.demand, each.to),) for each in changes)
    best = _closest(options, demands)
    return (tuple(_edit(each, getattr(best.figures, each.figure)) for each in fewest_broken(options, demands)),)


def _edit(demand: Demand, to: float) -> Edit:
    return Edit(demand.key, demand.path, demand.write(to))


def smallest_changes(options: Sequence[Option], demands: Sequence[Demand]) -> tuple[Change, ...]:
    """Return, for each demand that alone is in the way, the least change of it that lets some option through.

    ``options`` are all that can be built; exact over them.
    """
    changes = []
    for demand in demands:
        others = [each for each in demands if each is not demand]
        left = [option for option in options if all(each.is_met(option.figures) for each in others)]
        if not left or any(demand.is_met(option.figures) for option in left):
            continue
        sign = 1 if demand.is_most else -1
        nearest = min(left, key=lambda o: (sign * getattr(o.figures, demand.figure), o.figures.cost))
        changes.append(Change(demand, float(getattr(nearest.figures, demand.figure)), nearest))
    return tuple(
        sorted(changes, key=lambda change: abs(change.to / change.demand.limit - 1) if change.demand.limit else 1)
    )


def fewest_broken(options: Sequence[Option], demands: Sequence[Demand]) -> tuple[Demand, ...]:
    """Return the fewest demands that some option leaves unmet, of equals those of the cheapest option."""
    best = min(options, key=lambda o: (sum(not d.is_met(o.figures) for d in demands), o.figures.cost))
    return tuple(each for each in demands if not each.is_met(best.figures))


def judge_unmet(name: str, options: Sequence[Option], demands: Sequence[Demand]) -> Finding:
    """Return the finding on a brief that no option meets."""
    basis = "every option of catalogue and shelf; a change is the least that lets one through"
    if not options:
        summary, value = "no board and pack can drive this much strip", "no option can be built"
        do = "put less strip on a member, split members, or ask for fewer pixels a metre"
        return Finding("PROPOSE-002", Severity.FAIL, name, summary, value, "one that can", None, do, basis)
    changes = smallest_changes(options, demands)
    if changes:
        first = changes[0]
        demand = first.demand
        value = f"{demand.tell(first.to)} at best"
        limit = f"{'at most' if demand.is_most else 'at least'} {demand.tell(demand.limit)}"
        ways = [
            f"{each.demand.key}: {_rounded(each)} instead of {each.demand.tell(each.demand.limit)}" for each in changes
        ]
        do = "change one of these, the smallest change first: " + "; ".join(ways)
        summary = f'nothing meets the brief: "{demand.key}" is in the way'
        return Finding("PROPOSE-002", Severity.FAIL, name, summary, value, limit, None, do, basis)
    broken = fewest_broken(options, demands)
    names = " and ".join(f'"{each.key}"' for each in broken)
    best = _closest(options, demands)
    ways = [
        f"{each.key}: {each.tell(getattr(best.figures, each.figure))} instead of {each.tell(each.limit)}"
        for each in broken
    ]
    return Finding(
        "PROPOSE-002",
        Severity.FAIL,
        name,
        f"nothing meets the brief: {names} are in the way together",
        f"{len(broken)} demands unmet at best",
        "all of them met",
        None,
        "change all of these: " + "; ".join(ways),
        basis,
    )


def _closest(options: Sequence[Option], demands: Sequence[Demand]) -> Option:
    return min(options, key=lambda o: (sum(not d.is_met(o.figures) for d in demands), o.figures.cost))


def _rounded(change: Change) -> str:
    return change.demand.tell(change.to)
