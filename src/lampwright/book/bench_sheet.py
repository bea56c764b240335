"""The bench test sheet: what a meter should show, from the very model of the rails that the check uses."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from lampwright.book.typeset import typeset
from lampwright.layout.model import CircuitLayout, Layout
from lampwright.power import ready_rails, with_readings
from lampwright.power.draw import channel_currents, idle_current
from lampwright.power.wiring import source_of
from lampwright.units import format_quantity

MOST_LEVEL = 0.1
"""Share of full drive at which all pixels are lit; less where white would draw more than the circuit's cap."""

_MAINS = (
    "Supply: listed mark on it, case and both leads whole; outlet behind a residual-current device, its button tried. "
    "Nobody opens it.",
)
"""What is looked at first where a supply from the mains feeds the circuit."""

PATTERNS = {
    "dark": (0, 0, 0),
    "red": (1, 0, 0),
    "green": (0, 1, 0),
    "blue": (0, 0, 1),
    "white": (1, 1, 1),
}
"""By the name that a reading in the piece file has for it."""

CURRENT_TOLERANCE, VOLTAGE_TOLERANCE = 0.2, 0.1
"""Pixels of one sort differ so much from batch to batch; a hand-held meter and its leads (common practice, no source).
[1], [V]"""


@dataclass(frozen=True)
class Expected:
    """What to read while all pixels of a circuit stand at one code."""

    pattern: str
    level: float  # share of full drive [1]
    run: str
    current: float  # from the pack or supply [A]
    head: float  # at the run's first pixel [V]
    far_end: float  # at its last pixel [V]


def bench_level(layout: CircuitLayout) -> float:
    """Return the test's level in whole hundredths, at least one: what white can have within the cap. [1]"""
    full = layout.n_pixel * float(channel_currents(layout).sum())
    left = layout.circuit.current_cap - idle_current(layout)
    return max(0.01, min(MOST_LEVEL, math.floor(100 * left / full) / 100))


def expected_readings(layout: CircuitLayout) -> tuple[Expected, ...]:
    """Return what is expected of a circuit, one for each pattern and run, at its :func:`bench_level`.

    Readings in the piece file are heeded, as in the check.

    Raises
    ------
    MakerError
        POWER-015 to POWER-018 for wiring that can't be solved.
    """
    layout = with_readings(layout)
    rails, level = ready_rails(layout), bench_level(layout)
    expected = []
    for pattern, on in PATTERNS.items():
        codes = np.tile(np.array(on, dtype=np.uint8) * np.uint8(round(255 * level)), (layout.n_pixel, 1))
        frame = rails.frame(codes)
        for run in layout.runs:
            head, far_end = (float(frame.pixel_voltage[i]) for i in (run.first, run.first + run.n_pixel - 1))
            expected.append(Expected(pattern, level, run.run.name, frame.pack_current, head, far_end))
    return tuple(expected)


def bench_sheets(layout: Layout) -> bytes:
    """Return the sheets as a PDF, a page or more for each circuit."""
    return typeset("bench", bench_data(layout))


def bench_data(layout: Layout) -> dict[str, object]:
    """Return what the sheets say."""
    return {
        "name": layout.piece.brief.name,
        "tolerance": f"{100 * CURRENT_TOLERANCE:g} %",
        "volts": format_quantity(VOLTAGE_TOLERANCE, "voltage"),
        "circuits": [_sheet(layout, circuit) for circuit in layout.circuits],
    }


def _sheet(layout: Layout, circuit: CircuitLayout) -> dict[str, object]:
    brief, part = layout.piece.brief, circuit.circuit
    # a supply gives far more than its circuit is built for
    limit = format_quantity(part.current_cap if part.is_on_mains else source_of(part).limit, "current")
    own, soak = f"its own {part.source_noun}", format_quantity(brief.standby + brief.run_time, "time")
    level = 100 * bench_level(circuit)
    return {
        "title": part.name,
        "source": part.source_noun,
        "parts": _kept(f"{part.source_title}; {part.board.title}; {circuit.n_pixel} pixels of {part.strip.title}"),
        "before": [
            *(_MAINS if part.is_on_mains else ()),
            "Unplugged: no short between plus and ground, at the plug and at the far end of each run.",
            "Arrows on the strip point away from the board; ground is joined before data.",
            f"Supply limited to {limit} for the first light; someone beside it, nothing that burns below it.",
        ],
        "rows": [list(_row(each)) for each in expected_readings(circuit)],
        "after": [
            "Wiggle each joint and connector while white is lit: nothing flickers.",
            "Pull the power for ten seconds and give it back: it comes back as the handover card says.",
            f"Soak on {own} for {soak}, someone in sight of it: no reset, no part hot to the hand.",
            f'Write readings into the piece file as [[circuit.reading]], level = "{level:.0f} %", and check again.',
        ],
    }


def _row(each: Expected) -> Iterable[str]:
    yield f"{each.pattern}, {100 * each.level:.0f} %" if each.pattern != "dark" else "dark"
    yield each.run
    for text in (
        format_quantity(each.current, "current"),
        format_quantity(each.head, "voltage"),
        format_quantity(each.far_end, "voltage"),
    ):
        yield text
        yield ""


def _kept(text: str) -> str:
    """Return a text in which no number is parted from its unit at the end of a line."""
    return re.sub(r"(?<=\d) (?=/?[A-Za-zΩ%]{1,3}\b)", "\u00a0", text)
