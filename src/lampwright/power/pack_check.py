"""Judge a circuit's packs: how long they last in the cold, whether they stay awake, and what comes after the show."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
from numpy.typing import NDArray

from lampwright.findings.model import Finding, Severity
from lampwright.parts.model import Figure
from lampwright.piece.model import Brief, Circuit, Ending, Joined, Piece, total_of
from lampwright.power.bank import branches_of, one_pack_holds, shares, solve_bank
from lampwright.power.basis import basis, draw_basis, duration
from lampwright.power.drain import Drain, drain, energy_left, extra_load, load_of
from lampwright.power.draw import Draw, lowest_mean
from lampwright.power.keep_awake import SHUTOFF_CARE, how_to_stay_awake
from lampwright.power.pack import (
    AGED_SHARE,
    age_share,
    cell_energy,
    cold_share,
    is_colder_than_known,
    is_older_than_known,
    recharge_time,
)
from lampwright.power.solve import Rails
from lampwright.show.model import CircuitShow
from lampwright.show.render import render
from lampwright.units import format_quantity

Floats = NDArray[np.float64]

DAY = 86400.0

FLOWN_FREELY = 100 * 3600.0
"""Watt-hours that may be carried without asking (air travel rules, in summaries). [J]"""

FLOWN_BY_LEAVE = 160 * 3600.0
"""Watt-hours that an airline may allow, two spares at most (air travel rules, in summaries). [J]"""


def check_packs(show: CircuitShow, piece: Piece, draw: Draw, rails: Rails) -> tuple[Finding, ...]:
    """Return the findings on one circuit's packs over its whole evening and until the next."""
    circuit, brief = show.layout.circuit, piece.brief
    energy = energy_left(circuit, brief.coldest)
    emptying = drain(load_of(draw), circuit, energy)
    found = [_pack_empty_early(circuit, brief, draw, emptying), _pack_asleep(show, piece, draw, emptying)]
    if circuit.bank.port is not None or circuit.bank.other_ports:
        found.append(_port_overdrawn(circuit, draw))
    if circuit.bank.is_shared:
        found.append(_pack_alone_overdrawn(show, brief, draw, rails))
    found.append(_recharge_too_slow(circuit, brief, draw))
    if brief.is_flown:
        found.append(_pack_not_flyable(circuit))
    return tuple(found)


def _pack_empty_early(circuit: Circuit, brief: Brief, draw: Draw, emptying: Drain) -> Finding:
    """POWER-003: the energy that is left in the cold against standby and run time."""
    pack, bank = circuit.pack, circuit.bank
    standby = draw.standby_frames * draw.frame_period
    lasts = max(0.0, emptying.lasts - standby)
    severity, do = Severity.PASS, ""
    if lasts < brief.run_time:
        severity = Severity.FAIL
        do = (
            f"choose a pack {_times_larger(circuit, brief, draw):.1f} times as large, lower the brightness, "
            f"or plan to swap packs after {duration(lasts)}"
        )
    elif is_colder_than_known(pack, brief.coldest):
        severity = Severity.WARN
        do = "no figure is known for this cold: test the very pack at this temperature, and keep it warm"
    elif bank.cycles is not None and is_older_than_known(pack, bank.cycles):
        severity = Severity.WARN
        do = f"no figure is known for {bank.cycles:.0f} cycles: test the very pack for the whole evening, or retire it"
    elif bank.cycles is None and _lasts_worn(circuit, brief, draw) - standby < brief.run_time:
        severity = Severity.WARN
        do = (
            f"a worn pack, at {_percent(AGED_SHARE)} of its charge, would not hold: "
            "test yours first, or state its pack_cycles"
        )
    elif bank.joined is Joined.IN_TURN and emptying.emptied[0] < standby + brief.run_time:
        severity, do = (
            Severity.NOTE,
            "name who changes the packs; the circuit is dark, and counts down again, meanwhile",
        )
    return Finding(
        "POWER-003",
        severity,
        circuit.name,
        f"run time after {duration(standby)} of standby; {_shares_told(circuit, brief, emptying)}"
        f"{_emptying_told(circuit, emptying, standby + brief.run_time)}",
        duration(lasts),
        f"at least {duration(brief.run_time)}",
        lasts / brief.run_time - 1,
        do,
        basis(
            "charge × cell voltage × cold share × age share, less what every frame takes by the converter's efficiency "
            "at its load",
            charge=pack.charge,
            efficiency=pack.efficiency,
        )
        + f" by load ({pack.load_source}), cold share ({pack.cold_source})"
        + (f", age share ({pack.age_source})" if bank.cycles is not None else ""),
    )


def _times_larger(circuit: Circuit, brief: Brief, draw: Draw) -> float:
    """Return how many times the energy would do, to the next tenth."""
    energy, wanted = energy_left(circuit, brief.coldest), draw.standby_frames * draw.frame_period + brief.run_time
    low, high = 1.0, 2.0
    while drain(load_of(draw), circuit, energy * high).lasts < wanted and high < 1e6:
        low, high = high, 2 * high
    for _ in range(20):
        middle = (low + high) / 2
        low, high = (low, middle) if drain(load_of(draw), circuit, energy * middle).lasts >= wanted else (middle, high)
    return math.ceil(10 * high - 1e-3) / 10


def _lasts_worn(circuit: Circuit, brief: Brief, draw: Draw) -> float:
    return drain(load_of(draw), circuit, energy_left(circuit, brief.coldest, AGED_SHARE)).lasts


def _shares_told(circuit: Circuit, brief: Brief, emptying: Drain) -> str:
    """Return what is left of the rated energy, share by share."""
    pack, bank = circuit.pack, circuit.bank
    count = f"{bank.count} × " if bank.count > 1 else ""
    aged = (
        "" if bank.cycles is None else f", age {_percent(age_share(pack, bank.cycles))} after {bank.cycles:.0f} cycles"
    )
    at_output = bank.count * energy_left(circuit, brief.coldest) * emptying.efficiency
    return (
        f"{count}{_energy(cell_energy(pack))} in the cells, of which "
        f"{format_quantity(brief.coldest, 'temperature')} leaves {_percent(cold_share(pack, brief.coldest))}{aged}, "
        f"the converter passes on {_percent(emptying.efficiency)}: {_energy(at_output)} at the output"
    )


def _emptying_told(circuit: Circuit, emptying: Drain, evening: float) -> str:
    """Return when each pack but the last is empty within the evening [s], and what then happens."""
    bank = circuit.bank
    times = [duration(each) for each in emptying.emptied[: bank.count - 1] if each < evening]
    if not times:
        return ""
    when = f"{' and '.join(times)} after power-on"
    if not bank.is_shared:
        return f"; change packs by hand {when} at the latest"
    if emptying.is_overdrawn:
        return f"; empty one after the other {when}, then what is left is overdrawn and switches off"
    awake = "" if one_pack_holds(circuit) else ", if it is awake and may"
    return f"; empty one after the other {when} at worst, the rest carries on{awake}"


def _pack_asleep(show: CircuitShow, piece: Piece, draw: Draw, emptying: Drain) -> Finding:
    """POWER-004: the quietest stretch against the draw below which a pack switches itself off."""
    circuit = show.layout.circuit
    pack, bank = circuit.pack, circuit.bank
    least, delay = pack.shutoff_current.value, pack.shutoff_delay.value
    # of packs that share the load, the one that is set lowest gives the least
    own = shares(branches_of(circuit), _with_what_follows(draw, delay))[:, -1]
    lowest, when = lowest_mean(own, draw.frame_period, delay)
    lowest += extra_load(circuit)
    severity, do = Severity.PASS, ""
    if lowest < SHUTOFF_CARE * least:
        severity = Severity.FAIL if lowest < least else Severity.WARN
        in_standby = when < draw.standby_frames * draw.frame_period
        do = how_to_stay_awake(show, piece, draw, lowest, in_standby, emptying.lasts)
    which = ", of the pack that is set lowest" if bank.is_shared else ""
    return Finding(
        "POWER-004",
        severity,
        circuit.name,
        f"lowest mean draw over {duration(delay)}{which}, {duration(when)} after power-on",
        _amperes(lowest),
        f"at least {_amperes(least)}",
        lowest / least - 1 if least else None,
        do,
        draw_basis(circuit, shut_off=pack.shutoff_current),
    )


def _with_what_follows(draw: Draw, delay: float) -> Floats:
    """Return the draw and so long [s] of what follows it: the next repeat, or the frame that is held.

    A show that ends in the dark is over: what its packs do then harms nobody.
    """
    if draw.ending is Ending.DARK:
        return draw.current
    load = load_of(draw)
    return np.concatenate([load.once, np.resize(load.again, math.ceil(delay / draw.frame_period))])


def _port_overdrawn(circuit: Circuit, draw: Draw) -> Finding:
    """POWER-040: the highest current against what the port in use and all ports together may give."""
    pack, bank = circuit.pack, circuit.bank
    own = float(shares(branches_of(circuit), draw.current).max()) + pack.output_voltage.value / bank.keep_awake
    held: list[tuple[str, float, float, Figure]] = []
    if bank.port is not None:
        held.append((bank.port.title, own, bank.port.current_limit.value, bank.port.current_limit))
    if bank.other_ports:
        held.append(("all ports of the pack", own + bank.other_ports, total_of(pack), pack.total_limit))
    what, value, limit, figure = max(held, key=lambda each: each[1] / each[2])
    margin = 1 - value / limit
    return Finding(
        "POWER-040",
        Severity.FAIL if margin < 0 else Severity.PASS,
        circuit.name,
        f"highest current of one pack against {what}",
        _amperes(value),
        f"at most {_amperes(limit)}",
        margin,
        f'leave current_cap out, or write current_cap = "{_amperes(0.8 * circuit.pack_limit)}"; '
        "or use a port that gives more"
        if margin < 0
        else "",
        basis("peak draw, a keep-awake resistor and what other ports feed", limit=figure),
    )


def _pack_alone_overdrawn(show: CircuitShow, brief: Brief, draw: Draw, rails: Rails) -> Finding:
    """POWER-041: of packs that share the load, the highest frame against what one alone may give."""
    circuit = show.layout.circuit
    bank, limit = circuit.bank, circuit.pack_limit
    frame = solve_bank(rails.network, branches_of(circuit), render(show, int(draw.current.argmax()), 1).codes[0])
    given = " and ".join(_amperes(each) for each in sorted(frame.given, reverse=True))
    apart = _percent(2 * circuit.pack.output_tolerance.value)
    diode = f"; its diode takes up to {_volts(bank.diode.forward.value)}" if bank.diode is not None else ""
    alone = dataclasses.replace(circuit, bank=dataclasses.replace(bank, count=1))
    lasts = drain(load_of(draw), alone, energy_left(circuit, brief.coldest)).lasts
    lasts = max(0.0, lasts - draw.standby_frames * draw.frame_period)
    margin = 1 - draw.peak / limit
    severity, do = Severity.PASS, ""
    if margin < 0:
        severity = Severity.WARN
        do = f'write current_cap = "{_amperes(0.8 * limit)}": else a pack that is empty takes the others with it'
    elif lasts < brief.run_time:
        severity = Severity.NOTE
        do = "if one pack fails early the others don't last the evening: bring a charged one for the case"
    return Finding(
        "POWER-041",
        severity,
        circuit.name,
        f"peak draw against one pack alone, as when the others are empty or fail; alone it lasts {duration(lasts)}. "
        f"With all of them in use they give {given} of the peak, if their outputs differ by {apart}{diode}",
        _amperes(draw.peak),
        f"at most {_amperes(limit)}",
        margin,
        do,
        basis("peak draw; shares by each pack's own voltage and droop", limit=circuit.pack.current_limit),
    )


def _recharge_too_slow(circuit: Circuit, brief: Brief, draw: Draw) -> Finding:
    """POWER-042: how long the charger takes for what an evening takes out, against the time until the next."""
    pack = circuit.pack
    evening = draw.standby_frames * draw.frame_period + brief.run_time
    spent = _spent_by(circuit, brief, draw, evening)
    takes = recharge_time(pack, spent)
    there = brief.recharge if brief.recharge is not None else DAY - evening
    severity, do = Severity.PASS, ""
    if takes > there:
        severity = Severity.NOTE if brief.recharge is None else Severity.WARN
        needed = pack.charge_power.value * takes / max(there, 60.0)
        do = (
            f"for a next night use a charger of {format_quantity(needed, 'power')} or more, if the pack takes it "
            '(charge_power), or a second set of packs; if there is more time, write recharge = "..." in [brief]'
        )
    again = "" if brief.recharge is not None else "; if it plays again a day later"
    one_each = "one charger for each pack, " if circuit.bank.count > 1 else ""
    return Finding(
        "POWER-042",
        severity,
        circuit.name,
        f"time at the charger for the {format_quantity(spent, 'energy', 2)} that an evening takes out of a pack's "
        f"cells, {one_each}between 0 and 45 degC only{again}",
        duration(math.ceil(takes / 300) * 300),
        f"at most {duration(there)}",
        1 - takes / there,
        do,
        basis(
            "energy / (charger's power × share that the cells keep)",
            charger=pack.charge_power,
            kept=pack.charge_efficiency,
        ),
    )


def _spent_by(circuit: Circuit, brief: Brief, draw: Draw, time: float) -> float:
    """Return what the pack that is drained most has given of its cells by then. [J]"""
    energy = energy_left(circuit, brief.coldest)
    by_then = drain(load_of(draw), circuit, energy, time)
    return energy if by_then.emptied else energy - min(by_then.left)


def _pack_not_flyable(circuit: Circuit) -> Finding:
    """POWER-043: the rated energy of one pack against what may be carried by air."""
    pack = circuit.pack
    energy = cell_energy(pack)
    severity, do = Severity.PASS, ""
    if energy > FLOWN_BY_LEAVE:
        severity, do = Severity.FAIL, "send it by land as declared goods, or choose packs of 100 Wh or less"
    elif energy > FLOWN_FREELY:
        severity = Severity.WARN
        do = "ask the airline for its leave, two such packs a person at most, or choose packs of 100 Wh or less"
    return Finding(
        "POWER-043",
        severity,
        circuit.name,
        "rated energy of a pack against air travel: cabin only, contacts covered, undamaged; the airline decides",
        _energy(energy),
        f"at most {_energy(FLOWN_FREELY)}",
        1 - energy / FLOWN_FREELY,
        do,
        basis("charge × cell voltage", charge=pack.charge, cell_voltage=pack.cell_voltage),
    )


def _amperes(current: float) -> str:
    return format_quantity(current, "current")


def _volts(value: float) -> str:
    return format_quantity(value, "voltage")


def _energy(joules: float) -> str:
    return format_quantity(joules, "energy")


def _percent(share: float) -> str:
    return format_quantity(share, "share", 2)
