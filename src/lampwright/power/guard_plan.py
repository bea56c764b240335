"""The cheapest way to guard every wire of a circuit: another fuse at the pack, thicker wires, fuses of their own."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from lampwright.parts import Fuse, Wire, load_catalogue, unit_price
from lampwright.piece.model import Cable, Circuit
from lampwright.power.fuse import circuit_fuse, smallest_fuse, standard_fuses
from lampwright.power.guard import circuit_guards, is_guarded, thinnest_that_carries, with_lead_fuse
from lampwright.power.wiring import feed_name

FUSE_WORK = 4.0
"""What fitting a fuse holder costs besides its parts: some ten minutes (judgement), in the catalogue's currency."""

Loads = Mapping[str, tuple[float, float]]
"""By wire: its current that lasts, and its highest. [A]"""


@dataclass(frozen=True)
class GuardPlan:
    """What is to be changed so that every wire is guarded, and what that costs in the catalogue's currency."""

    lead_fuse: Fuse | None
    """``None``: the one that is there stays."""
    wires: Mapping[str, Wire]
    """Thicker wires, by the name of the lead or feed."""
    fuses: Mapping[str, Fuse]
    """Fuses in feeds, at their start."""
    cost: float


def cheapest_guard(circuit: Circuit, loads: Loads) -> GuardPlan | None:
    """Return the cheapest plan that guards every wire and bears these loads; ``None``: none was found.

    For each fuse that the lead's load allows, from the one that is there downwards: all wires thicker, each by the
    cheaper of a thicker wire and a fuse, or a fuse in each. What such a plan says is held against all wires at once.
    """
    there = circuit_fuse(circuit)
    least = smallest_fuse(*loads["lead"]) if "lead" in loads else there
    if least is None:
        return None
    sizes = [each for each in standard_fuses() if least.rating.value <= each.rating.value <= there.rating.value]
    plans: list[GuardPlan] = []
    for fuse in reversed(sizes or [there]):
        fused = with_lead_fuse(circuit, fuse)
        for choose in (_thicker, _cheaper, _fused):
            plan = _plan(fused, loads, choose)
            if plan is not None and is_guarded(applied(fused, plan)):
                plans.append(dataclasses.replace(plan, lead_fuse=None if fuse is there else fuse))
    return min(plans, key=lambda each: each.cost, default=None)


def applied(circuit: Circuit, plan: GuardPlan) -> Circuit:
    """Return a circuit changed by a plan."""

    def changed(name: str, cable: Cable) -> Cable:
        return dataclasses.replace(cable, wire=plan.wires.get(name, cable.wire), fuse=plan.fuses.get(name, cable.fuse))

    lead = changed("lead", circuit.wiring.lead)
    if plan.lead_fuse is not None:
        lead = dataclasses.replace(lead, fuse=plan.lead_fuse)
    runs = tuple(
        dataclasses.replace(
            run,
            feeds=tuple(
                dataclasses.replace(feed, cable=changed(feed_name(run.name, feed.at), feed.cable)) for feed in run.feeds
            ),
        )
        for run in circuit.runs
    )
    return dataclasses.replace(circuit, wiring=dataclasses.replace(circuit.wiring, lead=lead), runs=runs)


def cables_of(circuit: Circuit) -> dict[str, Cable]:
    """Return the lead and the feeds by their names."""
    cables = {"lead": circuit.wiring.lead}
    cables |= {feed_name(run.name, feed.at): feed.cable for run in circuit.runs for feed in run.feeds}
    return cables


_Choice = Callable[[Cable, float, "Fuse | None"], "tuple[float, Wire | Fuse] | None"]


def _plan(circuit: Circuit, loads: Loads, choose: _Choice) -> GuardPlan | None:
    """Return what this way of choosing makes of every wire that isn't guarded; ``None`` where one has no way out."""
    cables, cost = cables_of(circuit), 0.0
    wires: dict[str, Wire] = {}
    fuses: dict[str, Fuse] = {}
    for guard in circuit_guards(circuit):
        name = guard.conductor.name
        if guard.is_safe:
            continue
        load = smallest_fuse(*loads[name]) if name in loads else None
        chosen = choose(cables[name], guard.most, None if name == "lead" else load)
        if chosen is None:
            return None
        cost += chosen[0]
        if isinstance(chosen[1], Wire):
            wires[name] = chosen[1]
        else:
            fuses[name] = chosen[1]
    return GuardPlan(None, wires, fuses, cost)


def _thicker(cable: Cable, most: float, _: Fuse | None) -> tuple[float, Wire | Fuse] | None:
    wire = thinnest_that_carries(most, cable.wire)
    if wire is None:
        return None
    dearer = (unit_price(wire.name) or 0.0) - (unit_price(cable.wire.name) or 0.0)
    return max(0.0, 2 * cable.length * dearer), wire


def _fused(cable: Cable, most: float, load: Fuse | None) -> tuple[float, Wire | Fuse] | None:
    """Return the largest fuse that guards a wire, if its load lets it live."""
    fits = [each for each in load_catalogue().fuses.values() if each.rating.value <= cable.wire.ampacity.value]
    largest = max(fits, key=lambda each: each.rating.value, default=None)
    if load is None or largest is None or largest.rating.value < load.rating.value:
        return _thicker(cable, most, load)
    parts = (unit_price(largest.name) or 0.0) + (unit_price("fuse holder") or 0.0)
    return parts + FUSE_WORK, largest


def _cheaper(cable: Cable, most: float, load: Fuse | None) -> tuple[float, Wire | Fuse] | None:
    ways = [way for way in (_thicker(cable, most, load), _fused(cable, most, load)) if way is not None]
    return min(ways, key=lambda way: way[0], default=None)
