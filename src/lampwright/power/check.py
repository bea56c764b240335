"""Judge a circuit's draw: what its pack or supply must give at once, what the limiter takes, and at which voltage."""

from __future__ import annotations

import dataclasses

from lampwright.findings.model import Finding, Severity
from lampwright.piece.model import Circuit, Piece
from lampwright.power.bank import branches_of, most_current
from lampwright.power.basis import basis, draw_basis, duration
from lampwright.power.draw import Draw, channel_currents
from lampwright.power.fuse import FUSE_SHARE, circuit_fuse
from lampwright.power.pack import white_cap, whole_percent_below
from lampwright.power.wiring import diode_of
from lampwright.show.model import CircuitShow
from lampwright.units import format_quantity

OFTEN = 0.05
"""Share of frames above which dimming by the limiter is more than a rare peak (our choice)."""

CAUTIOUS_SHARE = 0.8
"""Share of a pack's limit to plan with, as for the limiter itself (common practice, no source)."""

SUPPLY_TOLERANCE = 0.1
"""Share by which a pack's output may differ from what the board is meant for (our choice)."""


def check_power(show: CircuitShow, piece: Piece, draw: Draw) -> tuple[Finding, ...]:
    """Return the findings on one circuit's draw, limiter and voltage."""
    return (
        _pack_overdrawn(show, piece, draw),
        _show_dimmed(show, piece, draw),
        _strip_off_voltage(show.layout.circuit),
    )


def _pack_overdrawn(show: CircuitShow, piece: Piece, draw: Draw) -> Finding:
    """POWER-001: the highest frame against the pack's or supply's limit."""
    circuit = show.layout.circuit
    limit, noun = label_limit(circuit), circuit.source_noun
    margin = 1 - draw.peak / limit
    severity, do = Severity.PASS, ""
    if margin < 0:
        severity = Severity.FAIL
        do = _cap_that_fits(show, piece, draw, CAUTIOUS_SHARE * circuit.source_limit)
    elif circuit.current_cap > limit:
        severity = Severity.WARN
        do = f"the limiter would let {_amperes(circuit.current_cap)} through: {_lower_limiter(circuit.source_limit)}"
    elif (
        circuit.is_on_mains
        and (carried := FUSE_SHARE * circuit_fuse(circuit).rating.value) < circuit.current_cap - 1e-9
    ):
        severity = Severity.WARN
        do = (
            f"the limiter would let {_amperes(circuit.current_cap)} through, the lead's fuse carries "
            f'{_amperes(carried)} on and on: write current_cap = "{_amperes(carried)}", or take a thicker lead'
        )
    bank = f" of {circuit.bank.count} packs whose outputs differ" if circuit.bank.is_shared else ""
    return Finding(
        "POWER-001",
        severity,
        circuit.name,
        f"peak draw, {duration(draw.peak_time)} after power-on; mean {_amperes(draw.mean_show)} in the "
        f"show, {_amperes(draw.mean_standby)} in standby",
        _amperes(draw.peak),
        f"at most {_amperes(limit)}{bank}",
        margin,
        do,
        draw_basis(circuit, **{f"{noun}_limit": circuit.source.current_limit}),
        draw.peak_time,
    )


def label_limit(circuit: Circuit) -> float:
    """Return what pack or supply may give by its label, or packs that share the load at their worst tolerance. [A]

    What its port or its other ports leave is POWER-040's.
    """
    bank = dataclasses.replace(circuit.bank, port=None, other_ports=0.0)
    return most_current(branches_of(dataclasses.replace(circuit, bank=bank)))


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
        draw_basis(circuit),
        draw.dimming_time if share else None,
    )


def _cap_that_fits(show: CircuitShow, piece: Piece, draw: Draw, budget: float) -> str:
    """Return what to do about too much light: the brightness that fits the budget, rounded down."""
    layout = show.layout
    circuit = layout.circuit
    spare = budget - draw.idle
    if spare <= 0:
        return (
            f"the dark strip and the board alone take {_amperes(draw.idle)}: "
            f"choose a stronger {circuit.source_noun} or put fewer pixels on this circuit"
        )
    white = white_cap(
        budget,
        layout.n_pixel,
        circuit.strip.quiescent_current.value,
        circuit.board.current.value,
        float(channel_currents(layout).sum()),
    )
    fits = whole_percent_below(piece.show.brightness * spare / max(spare, draw.wanted_peak - draw.idle))
    limiter = f"{_lower_limiter(circuit.source_limit)}, and " if circuit.current_cap > budget else ""
    if not fits:
        stronger = f"a stronger {circuit.source_noun}" + (" or port" if circuit.bank.port is not None else "")
        return f"{limiter}choose {stronger} or put fewer pixels on this circuit: not even 1 % of brightness fits"
    for_white = whole_percent_below(white / 255)
    return (
        f'{limiter}write brightness = "{fits} %" or choose a stronger {circuit.source_noun} '
        f'(all pixels white would need "{for_white} %", code {int(white)} of 255)'
    )


def _lower_limiter(limit: float) -> str:
    """Return how to set the limiter for a pack or supply of this limit [A]."""
    return f'leave current_cap out, or write current_cap = "{_amperes(CAUTIOUS_SHARE * limit)}"'


def _strip_off_voltage(circuit: Circuit) -> Finding:
    """POWER-005: the pack's or supply's output against what strip and board are made for."""
    source, strip, board = circuit.source, circuit.strip, circuit.board
    noun, volts = circuit.source_noun, source.output_voltage.value - diode_of(circuit).forward
    least, most = strip.supply_least.value, strip.supply_most.value
    if board.supply.value * (1 + SUPPLY_TOLERANCE) >= least:  # else the board has a regulator of its own
        least = max(least, board.supply.value * (1 - SUPPLY_TOLERANCE))
        most = min(most, board.supply.value * (1 + SUPPLY_TOLERANCE))
    is_right = least <= volts <= most
    do = f"choose {noun} and board for the strip's voltage; too much destroys every pixel"
    if volts < least <= source.output_voltage.value:
        do = 'the diode takes what is missing: write joined = "ideal diode"'
    return Finding(
        "POWER-005",
        Severity.PASS if is_right else Severity.FAIL,
        circuit.name,
        f"{noun} output" + (", less its diode," if diode_of(circuit).forward else "") + " against strip and board",
        format_quantity(volts, "voltage"),
        f"{format_quantity(least, 'voltage')} to {format_quantity(most, 'voltage')}",
        min(volts / least - 1, 1 - volts / most),
        "" if is_right else do,
        basis("strip's window and board's supply ± 10 %", **{noun: source.output_voltage}, board=board.supply),
    )


def _amperes(current: float) -> str:
    return format_quantity(current, "current")


def _percent(share: float) -> str:
    return format_quantity(share, "share", 2)
