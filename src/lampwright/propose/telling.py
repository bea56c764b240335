"""What a candidate comes to, in the words of every table that shows it."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from lampwright.propose.finalist import Candidate
from lampwright.propose.stage import Proposal
from lampwright.units import format_quantity


def _packs(each: Candidate) -> str:
    name = each.design.source.name
    return f"{each.design.packs} × {name}" if each.design.packs > 1 else name


def _lasts(each: Candidate) -> str:
    return "no end" if math.isinf(each.run_time) else format_quantity(each.run_time // 60 * 60, "time", 3)


BUILT_OF: dict[str, Callable[[Candidate], str]] = {
    "strip": lambda each: each.design.strip.name,
    "circuits": lambda each: str(each.n_circuit),
    "pixels": lambda each: str(each.n_pixel),
    "board": lambda each: each.design.board.name,
    "each fed by": _packs,
    "on at": lambda each: f"{each.design.level} %",
}
HELD_BY: dict[str, Callable[[Candidate], str]] = {
    "held up by": lambda each: each.design.rig.title,
}
COMES_TO: dict[str, Callable[[Candidate], str]] = {
    "cost": lambda each: f"{each.cost:.2f}",
    "mass": lambda each: format_quantity(each.mass, "mass", 3),
    "work": lambda each: f"{each.work / 3600:.1f} h",
    "order by": lambda each: "too late" if each.is_late else f"{each.order_by:%d %b}",
    "in time": lambda each: f"{100 * each.in_time:.0f} %",
    "set up": lambda each: format_quantity(each.set_up, "time", 2),
    "lasts": _lasts,
    "odds": lambda each: f"{100 * each.odds:.2f} %",
}
SEEN: dict[str, Callable[[Candidate], str]] = {
    "light": lambda each: f"{each.seen.per_metre:.2f} cd/m",
    "over surroundings": lambda each: f"{each.seen.contrast:.0f} times",
    "pixels merge from": lambda each: f"{each.seen.merges_from:.0f} m",
    "warnings": lambda each: " ".join(each.warnings) or "none",
}


def feeds(each: Candidate) -> str:
    """Return how many feeds the whole piece has, by their wire."""
    counts: Counter[str] = Counter()
    for entry in each.design.grouping.entries:
        for run in entry.runs:
            feeding = each.design.feedings.get((entry.name, run.name))
            for _, wire, _ in feeding.feeds if feeding is not None else ():
                counts[wire] += entry.count
    return ", ".join(f"{count} × {wire}" for wire, count in sorted(counts.items()))


@dataclass(frozen=True)
class Step:
    """A step up in cost, from one candidate to the next."""

    told: str
    """What it buys."""
    more: tuple[str, ...]
    """What each unit of money buys of that, and what the cheaper one has that the other lacks."""


def steps_up(candidates: Sequence[Candidate], currency: str) -> tuple[Step, ...]:
    """Return what each step up in cost buys."""
    steps = []
    for number, (one, other) in enumerate(pairwise(candidates), 1):
        more = []
        if each := per_unit(one, other):
            more.append(f"each {currency}: {each}")
        if lost := better(other, one):
            more.append(f"number {number} has {', '.join(lost)}")
        told = f"{number} to {number + 1}: {other.cost - one.cost:+.2f} buys {gains(one, other)}"
        steps.append(Step(told, tuple(more)))
    return tuple(steps)


def advice(candidates: Sequence[Candidate]) -> tuple[str, ...]:
    """Return what to do about each warning, once for all candidates that have it."""
    having: dict[str, list[int]] = {}
    for number, each in enumerate(candidates, 1):
        for line in each.advice:
            having.setdefault(line, []).append(number)
    return tuple(
        f"{'all' if len(numbers) == len(candidates) > 1 else ', '.join(map(str, numbers))}: {line}"
        for line, numbers in having.items()
    )


def covered(proposal: Proposal) -> tuple[str, ...]:
    """Return how much was searched, and what isn't shown of what was found."""
    found = proposal.found
    how = "all of them covered" if found.is_complete else "members of unlike tube not all of them covered"
    lines = [
        f"{found.n_option} options, {how}: {found.n_weighed} weighed, the rest ruled out by bounds; "
        f"{len(found.options)} that no other beats on every count, "
        f"{proposal.n_hardware} of them apart by more than brightness."
    ]
    if proposal.n_failed:
        lines.append(
            f"{proposal.n_failed} finalists aren't shown: they failed their sign-off at every brightness tried, or "
            "missed a demand once they were finished."
        )
    return tuple(lines)


def gains(one: Candidate, other: Candidate) -> str:
    """Return what is better of another candidate than of one."""
    return ", ".join(better(one, other)) or "a later order date alone"


def better(one: Candidate, other: Candidate) -> list[str]:
    """Return each thing that is better of another candidate than of one."""
    found = []
    light = other.seen.per_metre / one.seen.per_metre
    if light > 1.02:
        found.append(f"{light:.1f} times the light")
    if other.odds > one.odds + 5e-5:
        found.append(f"odds {100 * (other.odds - one.odds):+.2f} points")
    if other.run_time > 1.02 * one.run_time:
        found.append(f"{format_quantity((other.run_time - one.run_time) // 60 * 60, 'time', 2)} longer in the cold")
    if other.seen.apart < 0.98 * one.seen.apart:
        found.append(f"pixels {one.seen.apart / other.seen.apart:.1f} times as dense")
    if other.work < 0.98 * one.work:
        found.append(f"{(one.work - other.work) / 3600:.1f} h less work")
    if other.mass < 0.98 * one.mass:
        found.append(f"{one.mass - other.mass:.2f} kg less")
    if other.set_up < 0.98 * one.set_up:
        found.append(f"{format_quantity(one.set_up - other.set_up, 'time', 2)} quicker to set up")
    return found


def per_unit(one: Candidate, other: Candidate) -> str:
    """Return what each unit of money buys of what is better of another candidate; empty where it costs no more."""
    more = other.cost - one.cost
    if more < 0.5:
        return ""
    found = []
    if other.seen.per_metre > 1.02 * one.seen.per_metre:
        found.append(f"{(other.seen.per_metre - one.seen.per_metre) / more:.2g} cd/m")
    if other.odds > one.odds + 5e-5:
        found.append(f"{100 * (other.odds - one.odds) / more:.2g} points of odds")
    if other.run_time > 1.02 * one.run_time:
        found.append(format_quantity((other.run_time - one.run_time) / more, "time", 2))
    if other.seen.apart < 0.98 * one.seen.apart:
        density = other.design.strip.density.value - one.design.strip.density.value
        found.append(f"{density / more:.2g} pixels a metre")
    if other.work < 0.98 * one.work:
        found.append(f"{format_quantity((one.work - other.work) / more, 'time', 2)} less work")
    if other.mass < 0.98 * one.mass:
        found.append(f"{format_quantity((one.mass - other.mass) / more, 'mass', 2)} less")
    return ", ".join(found)
