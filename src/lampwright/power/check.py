"""Judge a circuit's power: what the pack must give, for how long, in which cold."""

from __future__ import annotations

import math

from lampwright.findings.model import Finding, Severity
from lampwright.parts.model import Figure
from lampwright.piece.model import Brief, Circuit, Piece
from lampwright.power.basis import basis
from lampwright.power.draw import Draw, channel_currents
from lampwright.power.pack import (
    AGED_SHARE,
    cold_share,
    is_colder_than_known,
    output_charge,
    white_cap,
    whole_percent_below,
)
from lampwright.show.model import CircuitShow
from lampwright.units import format_quantity

OFTEN = 0.05
"""Share of frames above which dimming by the limiter is more than a rare peak (our choice)."""

CAUTIOUS_SHARE = 0.8
"""Share of a pack's limit to plan with, as for the limiter itself (common practice, no source)."""

SHUTOFF_CARE = 1.5
"""Packs differ: 45 mA by one data sheet, 50 to 100 mA in practice. Below this many times the stated
figure, test the pack (common practice, no source)."""

SUPPLY_TOLERANCE = 0.1
"""Share by which a pack's output may differ from what the board is meant for (our choice)."""


def check_power(show: CircuitShow, piece: Piece, draw: Draw) -> tuple[Finding, ...]:
    """Return the findings on one circuit's pack, limiter and run time."""
    return (
        _pack_overdrawn(show, piece, draw),
        _show_dimmed(show, piece, draw),
        _pack_empty_early(show, piece.brief, draw),
        _pack_asleep(show.layout.circuit, draw),
        _strip_off_voltage(show.layout.circuit),
    )


def _pack_overdrawn(show: CircuitShow, piece: Piece, draw: Draw) -> Finding:
    """POWER-001: the highest frame against the pack's limit."""
    circuit = show.layout.circuit
    limit = circuit.pack.current_limit.value
    margin = 1 - draw.peak / limit
    severity, do = Severity.PASS, ""
    if margin < 0:
        severity = Severity.FAIL
        do = _cap_that_fits(show, piece, draw, CAUTIOUS_SHARE * limit)
    elif circuit.current_cap > limit:
        severity = Severity.WARN
        do = f"the limiter would let {_amperes(circuit.current_cap)} through: {_lower_limiter(limit)}"
    return Finding(
        "POWER-001",
        severity,
        circuit.name,
        f"peak draw, {_duration(draw.peak_time)} after power-on; mean {_amperes(draw.mean_show)} in the "
        f"show, {_amperes(draw.mean_standby)} in standby",
        _amperes(draw.peak),
        f"at most {_amperes(limit)}",
        margin,
        do,
        _draw_basis(circuit, pack_limit=circuit.pack.current_limit),
    )


def _show_dimmed(show: CircuitShow, piece: Piece, draw: Draw) -> Finding:
    """POWER-002: how often and how deep the limiter dims what the looks ask for."""
    circuit = show.layout.circuit
    cap = circuit.current_cap
    share = draw.limited_share
    if share == 0:
        severity, summary, do = Severity.PASS, "the limiter never has to dim", ""
    else:
        severity = Severity.WARN if share > OFTEN else Severity.NOTE
        deepest = _percent(draw.deepest_dimming)
        summary = f"the limiter dims {_percent(share)} of the frames, at worst to {deepest} of their light"
        do = _cap_that_fits(show, piece, draw, cap)
    return Finding(
        "POWER-002",
        severity,
        circuit.name,
        summary,
        f"{_amperes(draw.wanted_peak)} asked for",
        f"at most {_amperes(cap)}",
        1 - draw.wanted_peak / cap,
        do,
        _draw_basis(circuit),
    )


def _cap_that_fits(show: CircuitShow, piece: Piece, draw: Draw, budget: float) -> str:
    """Return what to do about too much light: the brightness that fits the budget, rounded down."""
    layout = show.layout
    circuit = layout.circuit
    spare = budget - draw.idle
    if spare <= 0:
        return (
            f"the dark strip and the board alone take {_amperes(draw.idle)}: "
            "choose a stronger pack or put fewer pixels on this circuit"
        )
    white = white_cap(
        budget,
        layout.n_pixel,
        circuit.strip.quiescent_current.value,
        circuit.board.current.value,
        float(channel_currents(layout).sum()),
    )
    fits = whole_percent_below(piece.show.brightness * spare / max(spare, draw.wanted_peak - draw.idle))
    for_white = whole_percent_below(white / 255)
    limiter = f"{_lower_limiter(circuit.pack.current_limit.value)}, and " if circuit.current_cap > budget else ""
    return (
        f'{limiter}write brightness = "{fits} %" or choose a stronger pack '
        f'(all pixels white would need "{for_white} %", code {int(white)} of 255)'
    )


def _lower_limiter(limit: float) -> str:
    """Return how to set the limiter for a pack of this limit [A]."""
    return f'leave current_cap out, or write current_cap = "{_amperes(CAUTIOUS_SHARE * limit)}"'


def _pack_empty_early(show: CircuitShow, brief: Brief, draw: Draw) -> Finding:
    """POWER-003: the charge that is left in the cold against standby and run time."""
    circuit = show.layout.circuit
    pack = circuit.pack
    share = cold_share(pack, brief.coldest)
    charge = output_charge(pack) * share
    needed = draw.charge_for(brief.run_time)
    lasts = draw.show_time_from(charge)
    margin = lasts / brief.run_time - 1
    is_unknown_cold = is_colder_than_known(pack, brief.coldest)
    severity, do = Severity.PASS, ""
    if charge < needed:
        severity = Severity.FAIL
        do = (
            f"choose a pack {math.ceil(10 * needed / charge) / 10:.1f} times as large, lower the brightness, "
            f"or plan to swap packs after {_duration(lasts)}"
        )
    elif is_unknown_cold:
        severity = Severity.WARN
        do = "no figure is known for this cold: test the very pack at this temperature, and keep it warm"
    elif AGED_SHARE * charge < needed:
        severity = Severity.WARN
        do = f"a worn pack, at {_percent(AGED_SHARE)} of its charge, would not hold: test yours first"
    return Finding(
        "POWER-003",
        severity,
        circuit.name,
        f"run time after {_duration(draw.standby_frames * draw.frame_period)} of standby at "
        f"{format_quantity(brief.coldest, 'temperature')}, where the pack still gives {_percent(share)}, "
        f"{format_quantity(charge, 'charge')} at its output",
        _duration(lasts),
        f"at least {_duration(brief.run_time)}",
        margin,
        do,
        basis(
            "charge × cell voltage / output voltage × efficiency × cold share, less standby, over mean draw",
            charge=pack.charge,
            efficiency=pack.efficiency,
        )
        + f", cold share ({pack.cold_source})",
    )


def _pack_asleep(circuit: Circuit, draw: Draw) -> Finding:
    """POWER-004: the quietest stretch against the draw below which the pack switches itself off."""
    pack = circuit.pack
    least = pack.shutoff_current.value
    delay = pack.shutoff_delay.value
    lowest, when = draw.lowest_mean(delay)
    margin = lowest / least - 1 if least else None
    severity, do = Severity.PASS, ""
    if lowest < least:
        severity = Severity.FAIL
        do = "choose a pack that stays on or raise the standby level; then test the very pack in standby"
    elif lowest < SHUTOFF_CARE * least:
        severity = Severity.WARN
        do = "packs differ: leave the very pack in standby for its whole length before you trust it"
    return Finding(
        "POWER-004",
        severity,
        circuit.name,
        f"lowest mean draw over {_duration(delay)}, {_duration(when)} after power-on",
        _amperes(lowest),
        f"at least {_amperes(least)}",
        margin,
        do,
        _draw_basis(circuit, shut_off=pack.shutoff_current),
    )


def _strip_off_voltage(circuit: Circuit) -> Finding:
    """POWER-005: the pack's output against what strip and board are made for."""
    pack, strip, board = circuit.pack, circuit.strip, circuit.board
    volts = pack.output_voltage.value
    least, most = strip.supply_least.value, strip.supply_most.value
    if board.supply.value * (1 + SUPPLY_TOLERANCE) >= least:  # else the board has a regulator of its own
        least = max(least, board.supply.value * (1 - SUPPLY_TOLERANCE))
        most = min(most, board.supply.value * (1 + SUPPLY_TOLERANCE))
    is_right = least <= volts <= most
    return Finding(
        "POWER-005",
        Severity.PASS if is_right else Severity.FAIL,
        circuit.name,
        "pack output against strip and board",
        format_quantity(volts, "voltage"),
        f"{format_quantity(least, 'voltage')} to {format_quantity(most, 'voltage')}",
        min(volts / least - 1, 1 - volts / most),
        "" if is_right else "choose pack and board for the strip's voltage; too much destroys every pixel",
        basis("strip's window and board's supply ± 10 %", pack=pack.output_voltage, board=board.supply),
    )


def _draw_basis(circuit: Circuit, **more: Figure) -> str:
    """Return the basis of a draw, with more figures that a finding rests on."""
    strip = circuit.strip
    return basis(
        "board + pixels × quiescent + codes / 255 × channel current, every frame",
        board=circuit.board.current,
        quiescent=strip.quiescent_current,
        red=strip.red_current,
        green=strip.green_current,
        blue=strip.blue_current,
        **more,
    )


def _amperes(current: float) -> str:
    return format_quantity(current, "current")


def _percent(share: float) -> str:
    return format_quantity(share, "share", 2)


def _duration(seconds: float) -> str:
    """Return a duration, rounded down to whole seconds, from one hour on to whole minutes."""
    step = 60 if seconds >= 3600 else 1
    return format_quantity(math.floor(seconds / step + 1e-9) * step, "time")
