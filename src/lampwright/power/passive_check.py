"""Judge the small parts at the head of each run: capacitor, its inrush, and the resistor and lead of the data line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lampwright.findings.model import Finding, Severity
from lampwright.layout.model import CircuitLayout, RunLayout
from lampwright.piece.model import Circuit
from lampwright.power.basis import basis
from lampwright.power.bulk import (
    DIP_SHARE,
    HOLD_UP,
    VOLTAGE_CARE,
    Bulk,
    Inrush,
    allowed_dip,
    bulk_of,
    capacitance_needed,
    capacitors_for,
    held_at_least,
    inrush_of,
    smallest_capacitor,
    worst_step,
)
from lampwright.power.data_line import ResistorRange, choose_resistor, longest_lead, resistor_range
from lampwright.power.draw import Draw
from lampwright.units import format_quantity

SHORT_TIMES = 3.0
"""A pack may take more than so many times its limit for a short (our choice)."""

SHORT_DELAY = 250e-6
"""After which a pack's protection cuts off a short: 0.2 to 0.4 ms (from memory). [s]"""

START_DELAY = 10e-3
"""After which a supply may take a load that it can't raise for a short and stop (from memory; some wait longer). [s]"""

NEARLY = 0.95
"""A stated resistor may be so much of the least: no more than its own tolerance (IEC 60062, 5 %, from memory)."""


@dataclass(frozen=True)
class LineResistor:
    """The resistor in a run's data line."""

    run: str
    resistance: float | None  # ``None``: none in the catalogue does [ohm]
    is_chosen: bool
    """By the tool; otherwise stated in the piece file."""
    lead: float  # [m]
    fits: ResistorRange

    @property
    def is_slow(self) -> bool:
        """Whether a pulse leaves its window."""
        return self.resistance is None or self.resistance > self.fits.last

    @property
    def is_weak(self) -> bool:
        """Whether it is outside of what is recommended on either side."""
        return self.resistance is None or not self.fits.least * NEARLY <= self.resistance <= self.fits.most


def check_passives(layout: CircuitLayout, draw: Draw) -> tuple[Finding, ...]:
    """Return the findings on one circuit's capacitors and data lines, against its whole show."""
    bulks = bulk_of(layout)
    inrush = _inrush(layout, bulks)
    return _supply_dips(layout, bulks, draw), inrush, _edges_slow(layout)


def line_resistors(layout: CircuitLayout) -> tuple[LineResistor, ...]:
    """Return the resistor of each run's data line: as stated, else chosen for its lead."""
    return tuple(_line_resistor(layout, run) for run in layout.runs)


def _line_resistor(layout: CircuitLayout, run: RunLayout) -> LineResistor:
    circuit, head = layout.circuit, run.run.head
    fits = resistor_range(circuit.board, circuit.source, run.run.strip, head.data_lead)
    if head.data_resistor is not None:
        return LineResistor(run.run.name, head.data_resistor, False, head.data_lead, fits)
    found = choose_resistor(fits)
    return LineResistor(run.run.name, found.resistance.value if found else None, True, head.data_lead, fits)


def _supply_dips(layout: CircuitLayout, bulks: Sequence[Bulk], draw: Draw) -> Finding:
    """POWER-030: what the capacitors hold against the largest step of current in the show."""
    circuit, volts = layout.circuit, layout.circuit.source.output_voltage.value
    step, when = worst_step(draw)
    needed = capacitance_needed(step, HOLD_UP, allowed_dip(layout))
    held = held_at_least(bulks, volts)
    offered = capacitors_for(volts)
    severity, do = Severity.PASS, ""
    if not offered:
        severity = Severity.WARN
        do = f"take electrolytics rated at least {_volts(VOLTAGE_CARE * volts)}; the catalogue has none"
    elif held < needed:
        severity = Severity.WARN
        each = smallest_capacitor(needed / len(bulks), volts)
        size = _farads(each.capacitance.value) if each else ""
        do = f'write capacitor = "{size}" for each run, or let the cue fade in'
    told = ", ".join(f"{each.run} {_size(each)}" for each in bulks)
    rating = f", rated {_volts(offered[0].voltage.value)}" if offered else ""
    dip = _volts(step * HOLD_UP / held) if held else "all it has"
    return Finding(
        "POWER-030",
        severity,
        circuit.name,
        f"capacitor at the head of each run: {told}{rating}; at the largest step of the show, "
        f"{_amperes(step)} at {_time(when)} after power-on, the rail dips by {dip}",
        f"{_farads(held)} at least",
        f"at least {_farads(needed)}" if needed else "nothing needed",
        1 - needed / held if held else None,
        do,
        f"step × {HOLD_UP * 1e6:.0f} µs / {100 * DIP_SHARE:.0f} % of the {circuit.source_noun}'s voltage, every frame; "
        + basis("less tolerance", tolerance=offered[0].tolerance if offered else circuit.source.output_voltage),
        when if step else None,
    )


def _inrush(layout: CircuitLayout, bulks: Sequence[Bulk]) -> Finding:
    """POWER-031: what filling the capacitors asks of the pack or the supply."""
    circuit, inrush = layout.circuit, inrush_of(layout, bulks)
    if inrush is None:
        return Finding("POWER-031", Severity.PASS, circuit.name, "no capacitor to fill", "0 s", "", None, "")
    return _start_delayed(circuit, inrush) if circuit.is_on_mains else _inrush_trips(circuit, inrush)


def _inrush_trips(circuit: Circuit, inrush: Inrush) -> Finding:
    """POWER-031: how long a live pack that is plugged in sees what it may take for a short."""
    limit = circuit.source_limit
    above = inrush.time_above(SHORT_TIMES * limit)
    filled = inrush.charge / limit
    may_trip = above > SHORT_DELAY
    return Finding(
        "POWER-031",
        Severity.NOTE if may_trip else Severity.PASS,
        circuit.name,
        f"plugged into a live pack, the capacitors take up to {_amperes(inrush.peak)}; a pack that holds its limit "
        f"fills their {1e3 * inrush.charge:.3g} mC "
        f"in {_time(filled)}; above {SHORT_TIMES:g} times the pack's limit",
        _time(above),
        f"at most {_time(SHORT_DELAY)}",
        1 - above / SHORT_DELAY,
        "join everything first and then switch the pack on, and try it with the very pack; "
        "if it trips, take smaller capacitors"
        if may_trip
        else "",
        basis(
            "time constant × ln(peak / limit), copper, contacts and the capacitors' own resistance",
            limit=circuit.pack.current_limit,
        ),
    )


def _start_delayed(circuit: Circuit, inrush: Inrush) -> Finding:
    """POWER-031: how long a supply that limits itself takes to fill the capacitors when the mains is switched on."""
    limit = circuit.source_limit
    filled = inrush.charge / limit
    may_stop = filled > START_DELAY
    return Finding(
        "POWER-031",
        Severity.NOTE if may_stop else Severity.PASS,
        circuit.name,
        f"a supply that holds its rating fills the capacitors' {1e3 * inrush.charge:.3g} mC when the mains is switched "
        f"on; plugged into a live supply they take up to {_amperes(inrush.peak)} for an instant",
        _time(filled),
        f"at most {_time(START_DELAY)}",
        1 - filled / START_DELAY,
        "take smaller capacitors, and try it with the very supply: one that stops at a short may try again and again"
        if may_stop
        else "",
        basis("capacitance × voltage / rating", limit=circuit.source.current_limit),
    )


def _edges_slow(layout: CircuitLayout) -> Finding:
    """POWER-032: the resistor of each data line against what damps it and what its edges bear."""
    circuit = layout.circuit
    lines = line_resistors(layout)
    worst = max(lines, key=lambda line: (line.is_slow, line.is_weak, (line.resistance or 0.0) / max(line.fits.most, 1)))
    fits = worst.fits
    severity = Severity.WARN if worst.is_slow else Severity.NOTE if worst.is_weak else Severity.PASS
    told = ", ".join(
        f"{line.run} {_ohms(line.resistance)}{_chosen(line.is_chosen)} and {_metres(line.lead)} of lead"
        for line in lines
    )
    strip = circuit.strip
    resistance = fits.least if worst.resistance is None else worst.resistance
    longest = longest_lead(circuit.board, strip, resistance)
    return Finding(
        "POWER-032",
        severity,
        circuit.name,
        f"resistor and lead of each data line: {told}; "
        f"longest lead with {_ohms(resistance)}: {_metres(max(0.0, longest))}",
        _ohms(worst.resistance),
        f"{_ohms(fits.least)} to {_ohms(max(fits.most, 0.0))} for {worst.run}"
        if fits.most >= fits.least
        else f"at least {_ohms(fits.least)} and at most {_ohms(max(fits.most, 0.0))} for {worst.run}: none",
        1 - resistance / fits.most if fits.most > 0 else None,
        _what_to_do(worst, longest_lead(circuit.board, strip, fits.least)),
        basis(
            "edges of (resistor + pin) × (100 pF/m × lead + input) against half of each window of a bit",
            pin=circuit.board.drive_resistance,
            input=strip.input_capacitance,
        ),
    )


def _what_to_do(line: LineResistor, longest: float) -> str:
    if not (line.is_slow or line.is_weak):
        return ""
    found = choose_resistor(line.fits)
    if line.fits.most < line.fits.least:
        shorter = f"bring the board within {_metres(max(0.0, longest))} of the first pixel of {line.run}"
        return f"{shorter}, or put a line driver of the 74HCT kind there"
    if found is None or line.resistance is None:
        return f"bring the board nearer to the first pixel of {line.run}"
    if line.resistance > line.fits.most:
        reason = "smaller: edges come late"
    elif line.resistance < line.fits.damping:
        reason = "larger: the lead rings"
    else:
        reason = "larger: a strip without power would ask too much of the pin"
    return f'write data_resistor = "{_ohms(found.resistance.value)}" for {line.run}, {reason}'


def _size(bulk: Bulk) -> str:
    return f"{_farads(bulk.capacitance)}{_chosen(bulk.is_chosen)}" if bulk.capacitance else "none"


def _chosen(is_chosen: bool) -> str:
    return " (chosen)" if is_chosen else ""


def _farads(value: float) -> str:
    return format_quantity(value, "capacitance")


def _volts(value: float) -> str:
    return format_quantity(value, "voltage")


def _amperes(value: float) -> str:
    return format_quantity(value, "current")


def _time(seconds: float) -> str:
    return format_quantity(seconds, "time")


def _ohms(value: float | None) -> str:
    return "none that does" if value is None else format_quantity(value, "resistance")


def _metres(value: float) -> str:
    return format_quantity(value, "length")
