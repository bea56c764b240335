"""Judge a board against its strip: room in RAM, and time on the data line."""

from __future__ import annotations

import math

from lampwright.findings.model import Finding, Severity
from lampwright.layout.model import CircuitLayout
from lampwright.power.basis import basis
from lampwright.power.line import bit_time, write_time
from lampwright.show.memory import ram_needed
from lampwright.units import format_quantity

RENDER_SHARE = 0.2
"""Share of the frame period that should be left for working out the next frame (our choice; the
rehearsal shows what it really takes)."""


def check_board(layout: CircuitLayout, frame_period: float) -> tuple[Finding, ...]:
    """Return the findings on one circuit's board. They need no show, only pixels and frame period [s]."""
    return (_ram_too_small(layout), _line_too_slow(layout, frame_period))


def _ram_too_small(layout: CircuitLayout) -> Finding:
    """BOARD-001: frame buffer, variables and stack against the chip's RAM."""
    board = layout.circuit.board
    needed = ram_needed(layout.n_pixel, board)
    there, stack = round(board.ram.value), round(board.stack_reserve.value)
    do = ""
    if needed > there:
        do = (
            f"put at most {_most_pixels(layout)} pixels on this board: split the run over two circuits, "
            "choose a strip with fewer pixels per metre, or a chip with more RAM"
        )
    return Finding(
        "BOARD-001",
        Severity.PASS if needed <= there else Severity.FAIL,
        layout.circuit.name,
        f"RAM for {layout.n_pixel} pixels on {board.chip}, {stack} bytes of it kept for the stack",
        f"{needed} bytes",
        f"at most {there} bytes",
        1 - needed / there,
        do,
        basis("3 bytes a pixel + fixed variables + stack", ram=board.ram, stack=board.stack_reserve),
    )


def _most_pixels(layout: CircuitLayout) -> int:
    """Return how many pixels this board's RAM holds."""
    board = layout.circuit.board
    per_pixel = ram_needed(1, board) - ram_needed(0, board)
    return max(0, (round(board.ram.value) - ram_needed(0, board)) // per_pixel)


def _line_too_slow(layout: CircuitLayout, frame_period: float) -> Finding:
    """BOARD-002: writing all runs, one after the other, against the frame period."""
    timing = layout.circuit.strip.timing
    busy = write_time(layout.n_pixel, timing) + timing.latch
    margin = 1 - busy / frame_period
    severity, do = Severity.PASS, ""
    rate = _rate_with_room(busy)
    if margin < 0:
        severity = Severity.FAIL
        do = f'write rate = "{rate:g} /s" or less, or put fewer pixels on this circuit'
    elif margin < RENDER_SHARE:
        severity = Severity.WARN
        do = f'little time is left to work out the next frame: consider rate = "{rate:g} /s"'
    return Finding(
        "BOARD-002",
        severity,
        layout.circuit.name,
        f"writing {layout.n_pixel} pixels takes its share of each frame",
        format_quantity(busy, "time"),
        f"at most {format_quantity(frame_period, 'time')}",
        margin,
        do,
        f"24 bits × {bit_time(timing) * 1e6:.2f} µs a pixel + {timing.latch * 1e6:.0f} µs latch; "
        f"{layout.circuit.strip.timing_source}",
    )


def _rate_with_room(busy: float) -> float:
    """Return the fastest rate that leaves room beside this much line time [s], in tenths a second.

    Its period comes out as whole milliseconds, as the piece file asks.
    """
    least = math.ceil(busy / (1 - RENDER_SHARE) * 1000)
    return 1000 / next(period for period in range(least, 10_001) if 10_000 % period == 0)
