"""Judge what protects a circuit and what starts its data line: fuses and the level of the first pixel's data."""

from __future__ import annotations

import numpy as np

from lampwright.findings.model import Finding, Severity
from lampwright.parts import Supply, load_catalogue
from lampwright.piece.model import Circuit
from lampwright.power.basis import basis
from lampwright.power.fuse import circuit_fuse, smallest_fuse
from lampwright.power.rail_check import wires_by_name
from lampwright.power.rail_draw import RailDraw
from lampwright.power.wiring import diode_of
from lampwright.units import format_quantity

HIGH_SHARE = 0.7
"""Share of its own supply from which a pixel reads a one for sure (WS2812B datasheet, VIH, in copies)."""


def check_protection(circuit: Circuit, draw: RailDraw) -> tuple[Finding, ...]:
    """Return the findings on one circuit's data level and fuses over its whole show."""
    return _data_level_low(circuit, draw), _wire_unprotected(circuit, draw)


def _data_level_low(circuit: Circuit, draw: RailDraw) -> Finding:
    """POWER-020: what the board drives at least against what each run's first pixel asks when its supply is highest."""
    rises = np.array([each.max() for each in draw.first_pixel.T])  # much faster than along the first axis
    worst = int(rises.argmax())
    highest = float(rises[worst])
    drive = lowest_drive(circuit)
    asked = HIGH_SHARE * highest
    is_low = drive < asked
    low = [run.name for run, rise in zip(circuit.runs, rises, strict=True) if drive < HIGH_SHARE * float(rise)]
    lines = f"; too low for {' and '.join(low)}" if is_low and len(rises) > 1 else ""
    return Finding(
        "POWER-020",
        Severity.WARN if is_low else Severity.PASS,
        circuit.name,
        f"lowest level of the board's data against the first pixel of {circuit.runs[worst].name}, "
        f"whose supply rises to {_volts(highest)}{lines}",
        _volts(drive),
        f"at least {_volts(asked)}",
        drive / asked - 1,
        "put a 5 V level shifter of the 74HCT kind between board and strip, supplied where the strip is, "
        "or take a board that runs at 5 V"
        if is_low
        else "",
        basis(
            "0.7 × highest supply of each run's first pixel, every frame; board's supply less its tolerance",
            board=circuit.board.supply,
            tolerance=circuit.board.supply_tolerance,
            **{circuit.source_noun: circuit.source.output_voltage},
        ),
    )


def lowest_drive(circuit: Circuit) -> float:
    """Return the lowest level of a one on the board's data lines. [V]

    A board without a regulator drives no more than its pack or supply gives, which may be less than it is made for.
    """
    regulated = circuit.board.supply.value * (1 - circuit.board.supply_tolerance.value)
    return min(regulated, circuit.source.output_voltage.value - diode_of(circuit).forward)


def _wire_unprotected(circuit: Circuit, draw: RailDraw) -> Finding:
    """POWER-021: the fuse that each laid wire needs for its load against what the wire may carry."""
    wires = wires_by_name(circuit)
    limit, noun = fault_current(circuit), circuit.source_noun
    where = "behind the diodes, besides one at each pack," if circuit.bank.is_shared else f"at the {noun}"
    largest = max(fuse.rating.value for fuse in load_catalogue().fuses.values())
    sizes = {}
    for name, rms, peak in zip(draw.wires, draw.wire_rms, draw.wire_peak, strict=True):
        fuse = smallest_fuse(float(rms), float(peak))
        if fuse is None:
            return _no_fuse(circuit, name, float(peak), largest)
        sizes[name] = fuse.rating.value
    if "lead" in sizes:  # the one that is fitted, unless the show asks for more
        sizes["lead"] = max(sizes["lead"], circuit_fuse(circuit).rating.value)
    name = max(sizes, key=lambda each: sizes[each] / wires[each].ampacity.value)
    size, ampacity = sizes[name], wires[name].ampacity
    severity, do = Severity.PASS, ""
    if size > ampacity.value:
        # the pack's own limit still bounds an overload, but it is no fuse: a damaged pack may not keep to it; a
        # supply gives its limit into a thin wire for as long as the mains is on
        worst = Severity.FAIL if circuit.is_on_mains else Severity.WARN
        severity = Severity.NOTE if limit <= ampacity.value else worst
        do = f"take a wire for the {name} that may carry {_amperes(size)}, or lower the brightness"
    never = [each for each, rating in sizes.items() if rating > limit]
    unblown = ""
    if never:
        unblown = f"; above the {_limits_told(circuit, limit)}, no fuse blows"
    told = ", ".join(f"{each} {_amperes(rating)}" for each, rating in sizes.items())
    return Finding(
        "POWER-021",
        severity,
        circuit.name,
        f"fuse {where} for each wire: {told}{unblown}",
        f"{_amperes(size)} for the {name}",
        f"at most {_amperes(ampacity.value)}",
        1 - size / ampacity.value,
        do,
        basis(
            "next standard size from lasting current / 0.75 and peak",
            ampacity=ampacity,
            **{f"{noun}_limit": circuit.source.current_limit},
        ),
        float(draw.peak_time[draw.wires.index(name)]),
    )


def fault_current(circuit: Circuit) -> float:
    """Return what flows into a short at most, on and on: of all packs that share the load, or of a supply. [A]"""
    if isinstance(circuit.source, Supply):
        return circuit.source.fault_current
    return circuit.source.current_limit.value * (circuit.bank.count if circuit.bank.is_shared else 1)


def _limits_told(circuit: Circuit, limit: float) -> str:
    """Return whose limit [A] acts before a fuse, and how."""
    if circuit.is_on_mains:
        return f"{_amperes(limit)} at which the supply limits itself: an overload goes on at that"
    whose = f"{circuit.bank.count} packs'" if circuit.bank.is_shared else "pack's"
    off = "packs" if circuit.bank.is_shared else "pack"
    return f"{whose} {_amperes(limit)}: an overload switches the {off} off"


def _no_fuse(circuit: Circuit, name: str, peak: float, largest: float) -> Finding:
    return Finding(
        "POWER-021",
        Severity.FAIL,
        circuit.name,
        f"no blade fuse is large enough for the {name}",
        _amperes(peak),
        f"at most {_amperes(largest)}",
        1 - peak / largest,
        f"divide the strip among more circuits, each with its own {circuit.source_noun} and fuse",
        basis(
            "next standard size from current / 0.75 and peak",
            **{f"{circuit.source_noun}_limit": circuit.source.current_limit},
        ),
    )


def _volts(value: float) -> str:
    return format_quantity(value, "voltage")


def _amperes(value: float) -> str:
    return format_quantity(value, "current")
