"""Bulk capacitors: what they must hold, which one is taken, and what they ask of the pack when it is switched on."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from lampwright.layout.model import CircuitLayout, RunLayout
from lampwright.parts import Capacitor, load_catalogue
from lampwright.power.draw import Draw, idle_current
from lampwright.power.network import copper_factor
from lampwright.power.wiring import cable_resistance, run_length

HOLD_UP = 100e-6
"""Until the pack's converter gives what is asked for: some ten periods at 100 kHz (common practice, no source). [s]"""

DIP_SHARE = 0.04
"""Share of the pack's voltage that the rail may dip meanwhile: 0.2 V of 5 V (our choice)."""

VOLTAGE_CARE = 1.25
"""An electrolytic is rated at least so many times the highest voltage of its rail (common practice, no source)."""


@dataclass(frozen=True)
class Bulk:
    """The capacitor at the head of a run."""

    run: str
    capacitance: float  # nominal [F]
    is_chosen: bool
    """By the tool; otherwise stated in the piece file."""


@dataclass(frozen=True)
class Inrush:
    """What the capacitors of a circuit take when a live pack is plugged in."""

    peak: float  # if only copper and the capacitors themselves held it back [A]
    time_constant: float  # [s]
    charge: float  # [C]

    def time_above(self, current: float) -> float:
        """Return how long more than this current [A] flows: tau ln(peak / current). [s]"""
        return max(0.0, self.time_constant * math.log(self.peak / current))


def capacitance_needed(step: float, hold_up: float, dip: float) -> float:
    """Return the capacitance that gives a step of current for a time and falls by no more than the dip. [F]

    Parameters
    ----------
    step, hold_up, dip : float
        [A], [s], [V]

    Source
    ------
    ``C = I t / dV``, the definition of capacitance: 2 A for 100 us at 0.2 V are 1000 uF.
    """
    return step * hold_up / dip


def allowed_dip(layout: CircuitLayout) -> float:
    """Return by how much a circuit's rail may dip while the pack's converter catches up. [V]"""
    return DIP_SHARE * layout.circuit.source.output_voltage.value


def worst_step(draw: Draw) -> tuple[float, float]:
    """Return the largest rise of current from one frame to the next [A], and when it is [s]."""
    if len(draw.current) < 2:
        return 0.0, 0.0
    rises = np.diff(draw.current)
    frame = int(rises.argmax())
    return max(0.0, float(rises[frame])), (frame + 1) * draw.frame_period


def bulk_of(layout: CircuitLayout) -> tuple[Bulk, ...]:
    """Return the capacitor of each run: as stated, else the smallest of the catalogue that serves its share.

    What is chosen bears any step that the circuit's limiter lets through, from dark to its cap, so that another show
    asks for no other capacitor. Runs share it by their pixels.
    """
    step = max(0.0, layout.circuit.current_cap - idle_current(layout))
    whole = capacitance_needed(step, HOLD_UP, allowed_dip(layout))
    return tuple(_bulk(layout, run, whole) for run in layout.runs)


def capacitors_for(voltage: float) -> list[Capacitor]:
    """Return the capacitors of the catalogue with the lowest rating that bears this rail [V], smallest first."""
    fits = [each for each in load_catalogue().capacitors.values() if each.voltage.value >= VOLTAGE_CARE * voltage]
    lowest = min((each.voltage.value for each in fits), default=0.0)
    same = [each for each in fits if each.voltage.value == lowest]
    return sorted(same, key=lambda each: each.capacitance.value)


def smallest_capacitor(needed: float, voltage: float) -> Capacitor | None:
    """Return the smallest capacitor that holds this much [F] at its tolerance's low end, else the largest there is.

    ``None`` where the catalogue has none for this rail [V].
    """
    offered = capacitors_for(voltage)
    holds = [each for each in offered if each.capacitance.value * (1 - each.tolerance.value) >= needed * (1 - 1e-9)]
    return next(iter(holds), offered[-1] if offered else None)


def held_at_least(bulks: Iterable[Bulk], voltage: float) -> float:
    """Return what capacitors hold together at the low end of their tolerance. [F]"""
    offered = capacitors_for(voltage)
    tolerance = offered[0].tolerance.value if offered else 0.0
    return (1 - tolerance) * sum(each.capacitance for each in bulks)


def inrush_of(layout: CircuitLayout, bulks: Iterable[Bulk]) -> Inrush | None:
    """Return what a circuit's capacitors take at switch-on; ``None`` where there are none.

    Only copper, contacts and the capacitors' own resistance hold it back: the pack's own isn't counted, which is the
    worst case. Capacitors at several runs are taken as one behind their cables side by side.
    """
    volts = layout.circuit.source.output_voltage.value
    offered = capacitors_for(volts)
    own = offered[0].series_resistance.value if offered else 0.0
    at = {each.run: each.capacitance for each in bulks if each.capacitance > 0}
    if not at:
        return None
    wiring = layout.circuit.wiring
    shared = 2 * (cable_resistance(wiring.lead, copper_factor(wiring.copper)) + wiring.plug)
    branches = sum(1 / (_to_head(layout, run) + own) for run in layout.runs if run.run.name in at)
    resistance = shared + 1 / branches
    total = sum(at.values())
    return Inrush(volts / resistance, resistance * total, total * volts)


def _bulk(layout: CircuitLayout, run: RunLayout, whole: float) -> Bulk:
    stated = run.run.head.capacitor
    if stated is not None:
        return Bulk(run.run.name, stated, is_chosen=False)
    share = whole * run.n_pixel / max(1, layout.n_pixel)
    found = smallest_capacitor(share, layout.circuit.source.output_voltage.value)
    return Bulk(run.run.name, found.capacitance.value if found else 0.0, is_chosen=True)


def _to_head(layout: CircuitLayout, run: RunLayout) -> float:
    """Return the least resistance of both conductors from the end of the lead to a run's head. [ohm]"""
    factor = copper_factor(layout.circuit.wiring.copper)
    rail = run.run.strip.rail_resistance.value * factor * run_length(run)
    return min((2 * (cable_resistance(feed.cable, factor) + feed.at * rail) for feed in run.run.feeds), default=0.0)
