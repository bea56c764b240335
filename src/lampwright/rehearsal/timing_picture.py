"""Draws how long each half of a bit lasted, against the windows of the pixels."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from lampwright.chip.bench import LineReport
from lampwright.parts.model import LineTiming, Window
from lampwright.rehearsal.drawing import BACKGROUND, BAD, FAINT, GOOD, INK, WINDOW, Font
from lampwright.rehearsal.model import CircuitRehearsal
from lampwright.show import CircuitShow
from lampwright.written.picture import write_png

WIDTH, LEFT, RIGHT, TOP, BOTTOM = 1200, 230, 250, 92, 62
LANE, GAP, HEAD = 34, 22, 26
"""Height of one half's lane; between runs; of a run's name. [px]"""

STEP = 100e-9
"""Between two marks of the scale. [s]"""


def draw_timing(shows: Sequence[CircuitShow], circuits: Sequence[CircuitRehearsal], title: str, path: Path) -> None:
    """Write the picture as PNG: a lane for each half, its window shaded, a stick where bits lasted so long.

    The stick's height is the logarithm of how many there were; red ones stand outside the window.
    """
    rows = [(show, seen, run) for show, seen in zip(shows, circuits, strict=True) for run in seen.lines]
    height = TOP + len(rows) * (HEAD + 4 * LANE + GAP) - GAP + BOTTOM
    image = Image.new("RGB", (WIDTH, height), BACKGROUND)
    pen = ImageDraw.Draw(image)
    small, large = ImageFont.load_default(15), ImageFont.load_default(24)
    pen.text((16, 14), f"{title}: how long bits lasted", INK, large)
    text = "Shaded: what the pixels allow. Sticks: what the chip sent, the taller the more of them, by powers of ten."
    pen.text((16, 50), text, FAINT, small)
    longest = _longest(rows)
    for index, (show, seen, run) in enumerate(rows):
        top = TOP + index * (HEAD + 4 * LANE + GAP)
        pen.text((16, top), f'{seen.name}, run "{run}"', INK, small)
        clock = show.layout.circuit.board.clock.value
        timing, report = show.layout.circuit.strip.timing, seen.lines[run]
        for lane, (half, window) in enumerate(_halves(timing)):
            _draw_lane(pen, top + HEAD + lane * LANE, half, window, (report, clock), longest, small)
    _draw_scale(pen, height - BOTTOM, longest, small)
    write_png(path, image)


def _halves(timing: LineTiming) -> Iterator[tuple[str, Window]]:
    yield "zero high", timing.zero_high
    yield "zero low", timing.zero_low
    yield "one high", timing.one_high
    yield "one low", timing.one_low


def _longest(rows: Sequence[tuple[CircuitShow, CircuitRehearsal, str]]) -> float:
    """Return where the scale ends: beyond the longest window, in whole steps. [s]"""
    ends = [window.most for show, _, _ in rows for _, window in _halves(show.layout.circuit.strip.timing)]
    return (math.ceil(max(ends, default=1e-6) / STEP) + 1) * STEP


def _across(seconds: float, longest: float) -> float:
    return LEFT + (WIDTH - LEFT - RIGHT) * min(seconds / longest, 1.0)


def _draw_lane(
    pen: ImageDraw.ImageDraw,
    top: float,
    half: str,
    window: Window,
    sent: tuple[LineReport, float],
    longest: float,
    font: Font,
) -> None:
    report, clock = sent
    base = top + LANE - 6
    pen.text((LEFT - 12, top + LANE / 2 - 2), half, FAINT, font, anchor="rm")
    pen.rectangle((_across(window.least, longest), top, _across(window.most, longest), base), WINDOW)
    pen.line((LEFT, base, WIDTH - RIGHT, base), WINDOW)
    counts = report.lengths.get(half, {})
    for cycles, count in counts.items():
        seconds = cycles / clock
        x = _across(seconds, longest)
        tall = (base - top) * min(1.0, (1 + math.log10(count)) / 9)
        pen.rectangle((x - 2, base - tall, x + 2, base), GOOD if _is_within(seconds, window) else BAD)
    bad = sum(count for cycles, count in counts.items() if not _is_within(cycles / clock, window))
    pen.text((WIDTH - RIGHT + 14, top + LANE / 2 - 2), _say(counts, clock, bad), BAD if bad else INK, font, anchor="lm")


def _is_within(seconds: float, window: Window) -> bool:
    return window.least - 1e-12 <= seconds <= window.most + 1e-12


def _say(counts: Mapping[int, int], clock: float, bad: int) -> str:
    if not counts:
        return "none sent"
    shortest, longest = (f"{cycles / clock * 1e9:.0f}" for cycles in (min(counts), max(counts)))
    span = shortest if shortest == longest else f"{shortest} to {longest}"
    total = _many(sum(counts.values()))
    return f"{span} ns, {_many(bad)} outside" if bad else f"{span} ns, {total}"


def _many(count: int) -> str:
    if count < 1_000_000:
        return str(count)
    millions = count / 1e6
    return f"{millions:,.0f} million" if millions >= 100 else f"{millions:.3g} million"


def _draw_scale(pen: ImageDraw.ImageDraw, top: float, longest: float, font: Font) -> None:
    for step in range(round(longest / STEP) + 1):
        x = _across(step * STEP, longest)
        pen.line((x, top, x, top + 5), FAINT)
        if step % 2 == 0:
            pen.text((x, top + 8), str(round(step * STEP * 1e9)), FAINT, font, anchor="ma")
    pen.text((LEFT, top + 32), "nanoseconds", FAINT, font)
