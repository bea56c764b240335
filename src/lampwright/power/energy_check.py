"""Judge the energy of a circuit's packs: for how long in which cold, until the next night, and on the way there."""

from __future__ import annotations

import math

from lampwright.findings.model import Finding, Severity
from lampwright.piece.model import Brief, Circuit, Joined
from lampwright.power.bank import one_pack_holds
from lampwright.power.basis import basis, duration
from lampwright.power.drain import Drain, Evening, energy_left
from lampwright.power.draw import Draw
from lampwright.power.pack import (
    AGED_SHARE,
    age_share,
    cell_energy,
    cold_share,
    is_colder_than_known,
    is_older_than_known,
    recharge_time,
)
from lampwright.units import format_quantity

DAY = 86400.0

RETIRED_SHARE = 0.5
"""Below this share of their rated charge packs are to be retired, not planned with (our choice)."""

FLOWN_FREELY = 100 * 3600.0
"""Watt-hours that may be carried without asking (air travel rules, in summaries). [J]"""

FLOWN_BY_LEAVE = 160 * 3600.0
"""Watt-hours that an airline may allow, two spares at most (air travel rules, in summaries). [J]"""


def pack_empty_early(circuit: Circuit, brief: Brief, draw: Draw, evening: Evening, emptying: Drain) -> Finding:
    """POWER-003: the energy that is left in the cold against standby and run time."""
    pack, bank = circuit.pack, circuit.bank
    standby = draw.standby_frames * draw.frame_period
    lasts = max(0.0, emptying.lasts - standby)
    severity, do = Severity.PASS, ""
    if lasts < brief.run_time:
        severity, do = Severity.FAIL, _more_energy(circuit, brief, draw, evening, lasts)
    elif is_colder_than_known(pack, brief.coldest):
        severity = Severity.WARN
        do = "no figure is known for this cold: test the very pack at this temperature, and keep it warm"
    elif bank.cycles is not None and is_older_than_known(pack, bank.cycles):
        severity = Severity.WARN
        do = f"no figure is known for {bank.cycles:.0f} cycles: test the very pack for the whole evening, or retire it"
    elif bank.cycles is None and _lasts_worn(circuit, brief, evening) - standby < brief.run_time:
        severity = Severity.WARN
        do = (
            f"a worn pack, at {_percent(AGED_SHARE)} of its charge, would not hold: "
            "test yours first, or state its pack_cycles"
        )
    elif bank.joined is Joined.IN_TURN and emptying.emptied[0] < standby + brief.run_time:
        severity = Severity.NOTE
        do = "name who changes the packs; each time the circuit goes dark, then does what it does after a loss of power"
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


def _more_energy(circuit: Circuit, brief: Brief, draw: Draw, evening: Evening, lasts: float) -> str:
    """Return what to do about packs that are empty after ``lasts`` of the show. [s]"""
    if circuit.bank.cycles is not None and age_share(circuit.pack, circuit.bank.cycles) < RETIRED_SHARE:
        return "packs of so many cycles are worn out: retire them"
    keys = ' (packs = 2, joined = "in turn")' if circuit.bank.count == 1 else ""
    return (
        f"choose a pack {_times_larger(circuit, brief, draw, evening):.1f} times as large, lower the brightness, "
        f"or plan to swap packs after {duration(lasts)}{keys}"
    )


def _times_larger(circuit: Circuit, brief: Brief, draw: Draw, evening: Evening) -> float:
    """Return how many times the energy would do, to the next tenth."""
    energy, wanted = energy_left(circuit, brief.coldest), draw.standby_frames * draw.frame_period + brief.run_time
    low, high = 1.0, 2.0
    while evening.drain(energy * high).lasts < wanted and high < 1e6:
        low, high = high, 2 * high
    for _ in range(20):
        middle = (low + high) / 2
        low, high = (low, middle) if evening.drain(energy * middle).lasts >= wanted else (middle, high)
    return math.ceil(10 * high - 1e-3) / 10


def _lasts_worn(circuit: Circuit, brief: Brief, evening: Evening) -> float:
    return evening.drain(energy_left(circuit, brief.coldest, AGED_SHARE)).lasts


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


def recharge_too_slow(circuit: Circuit, brief: Brief, draw: Draw, evening: Evening) -> Finding:
    """POWER-042: how long the charger takes for what an evening takes out, against the time until the next."""
    pack = circuit.pack
    night = draw.standby_frames * draw.frame_period + brief.run_time
    spent = _spent_by(circuit, brief, evening, night)
    takes = recharge_time(pack, spent)
    there = brief.recharge if brief.recharge is not None else DAY - night
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


def _spent_by(circuit: Circuit, brief: Brief, evening: Evening, time: float) -> float:
    """Return what the pack that is drained most has given of its cells by then. [J]"""
    energy = energy_left(circuit, brief.coldest)
    by_then = evening.drain(energy, time)
    return energy if by_then.emptied else energy - min(by_then.left)


def pack_not_flyable(circuit: Circuit) -> Finding:
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


def _energy(joules: float) -> str:
    return format_quantity(joules, "energy")


def _percent(share: float) -> str:
    return format_quantity(share, "share", 2)
