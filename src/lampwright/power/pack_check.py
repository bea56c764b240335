"""Judge a circuit's packs: whether they stay awake, and whether ports and packs give what is asked of them."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lampwright.findings.model import Finding, Severity
from lampwright.parts.model import Figure
from lampwright.piece.model import Brief, Circuit, Ending, Piece, total_of
from lampwright.power.bank import branches_of, shares, solve_bank
from lampwright.power.basis import basis, draw_basis, duration
from lampwright.power.drain import Drain, Evening, energy_left, extra_load, load_of
from lampwright.power.draw import Draw, lowest_mean
from lampwright.power.energy_check import pack_empty_early, pack_not_flyable, recharge_too_slow
from lampwright.power.keep_awake import SHUTOFF_CARE, how_to_stay_awake
from lampwright.power.solve import Rails
from lampwright.show.model import CircuitShow
from lampwright.show.render import render
from lampwright.units import format_quantity

Floats = NDArray[np.float64]


def check_packs(show: CircuitShow, piece: Piece, draw: Draw, rails: Rails) -> tuple[Finding, ...]:
    """Return the findings on one circuit's packs over its whole evening and until the next."""
    circuit, brief = show.layout.circuit, piece.brief
    energy = energy_left(circuit, brief.coldest)
    evening = Evening(load_of(draw), circuit)
    emptying = evening.drain(energy)
    found = [pack_empty_early(circuit, brief, draw, evening, emptying), _pack_asleep(show, piece, draw, emptying)]
    if circuit.bank.port is not None or circuit.bank.other_ports:
        found.append(_port_overdrawn(circuit, draw))
    if circuit.bank.is_shared:
        found.append(_pack_alone_overdrawn(show, brief, draw, rails, evening))
    found.append(recharge_too_slow(circuit, brief, draw, evening))
    if brief.is_flown:
        found.append(pack_not_flyable(circuit))
    return tuple(found)


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
        when,
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
        f'leave current_cap out, or write current_cap = "{_amperes(0.8 * circuit.source_limit)}"; '
        "or use a port that gives more"
        if margin < 0
        else "",
        basis("peak draw, a keep-awake resistor and what other ports feed", limit=figure),
    )


def _pack_alone_overdrawn(show: CircuitShow, brief: Brief, draw: Draw, rails: Rails, evening: Evening) -> Finding:
    """POWER-041: of packs that share the load, the highest frame against what one alone may give."""
    circuit = show.layout.circuit
    bank, limit = circuit.bank, circuit.source_limit
    frame = solve_bank(rails.network, branches_of(circuit), render(show, int(draw.current.argmax()), 1).codes[0])
    given = " and ".join(_amperes(each) for each in sorted(frame.given, reverse=True))
    apart = _percent(2 * circuit.pack.output_tolerance.value)
    diode = f"; its diode takes up to {_volts(bank.diode.forward.value)}" if bank.diode is not None else ""
    lasts = evening.drain(energy_left(circuit, brief.coldest), count=1).lasts
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


def _amperes(current: float) -> str:
    return format_quantity(current, "current")


def _volts(value: float) -> str:
    return format_quantity(value, "voltage")


def _percent(share: float) -> str:
    return format_quantity(share, "share", 2)
