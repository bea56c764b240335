"""Sends a stretch of the show with a clock that is wrong, and looks at what the pixels make of it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lampwright.chip import BenchStoppedError, EmulatedChip
from lampwright.rehearsal.compare import FrameAssembler
from lampwright.rehearsal.model import ClockTrial
from lampwright.rehearsal.part import Part
from lampwright.rehearsal.stage import listening_lines
from lampwright.show import line_bytes, render

GROSS_ERROR = 0.1
"""Of an oscillator without a crystal as it comes (ATmega328P's internal one, from memory). [1]"""

TRIED_SECONDS = 3.0
"""Of the nominal clock: a few flashes of the countdown, zeros and ones in every colour of the indicator. [s]"""


def clock_errors(tolerance: float) -> tuple[float, ...]:
    """Return the errors to try: the board's own tolerance both ways, then a gross one. [1]"""
    return (-tolerance, tolerance, -GROSS_ERROR, GROSS_ERROR)


def try_clocks(part: Part, errors: Sequence[float]) -> tuple[ClockTrial, ...]:
    """Send the first seconds with each of these clock errors.

    The chip counts the same cycles, each of another length: bits, frames and countdown are longer or
    shorter, while pixels and watchdog keep their own time.
    """
    return tuple(_try_clock(part, error) for error in errors)


def _try_clock(part: Part, error: float) -> ClockTrial:
    show, board = part.show, part.show.layout.circuit.board
    lines = listening_lines(show)
    clock_hz = board.clock.value * (1 + error)
    chip = EmulatedChip(part.image, clock_hz, lines, board.chip, start_up=part.start_up / (1 + error))
    assembler = FrameAssembler(show)
    n_frame = round(TRIED_SECONDS * 1000 / show.frame_ms)
    try:
        chip.run(round((n_frame + 2) * board.clock.value * show.frame_ms / 1000))
    except BenchStoppedError:
        return ClockTrial(error, 0, n_frame, 0.0)
    assembler.add(chip.take_frames())
    sent = assembler.take()
    n_sent = min(n_frame, len(sent.start_cycle))
    meant = line_bytes(show, render(show, 0, n_frame).codes)[:n_sent]
    is_wrong = (sent.sent_bytes[:n_sent] != meant).any(axis=1) | ~sent.whole[:n_sent]
    periods = np.diff(sent.start_cycle) if n_sent > 1 else np.zeros(1)
    return ClockTrial(
        error=error,
        n_breach=sum(chip.report(index).n_breach for index in range(len(lines))),
        n_wrong=n_frame - n_sent + int(is_wrong.sum()),
        period=float(np.median(periods)) / clock_hz,
    )
