"""What a candidate comes to, in the words of every table that shows it."""

from __future__ import annotations

import math
from collections.abc import Callable

from lampwright.propose.finalist import Candidate
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
