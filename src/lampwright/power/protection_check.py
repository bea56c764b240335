"""Judge what protects a circuit and what starts its data line: fuses and the level of the first pixel's data."""

from __future__ import annotations

import numpy as np

from lampwright.findings.model import Finding, Severity
from lampwright.piece.model import Circuit
from lampwright.power.basis import basis
from lampwright.power.guard_check import check_guards
from lampwright.power.rail_draw import RailDraw
from lampwright.power.wiring import diode_of
from lampwright.units import format_quantity

HIGH_SHARE = 0.7
"""Share of its own supply from which a pixel reads a one for sure (WS2812B datasheet, VIH, in copies)."""


def check_protection(circuit: Circuit, draw: RailDraw) -> tuple[Finding, ...]:
    """Return the findings on one circuit's data level and fuses over its whole show."""
    return _data_level_low(circuit, draw), check_guards(circuit, draw)


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


def _volts(value: float) -> str:
    return format_quantity(value, "voltage")
