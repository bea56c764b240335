"""Draws how much time a countdown loses, measured on the emulated chip: ``python -m tests.chip.draw_lost_time FILE``.

Dots are runs of the programs of test_lost_time.py and of this project's own firmware; lines are the formulas.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from lampwright.chip import EmulatedChip
from lampwright.firmware import build, write_firmware
from lampwright.rehearsal.stage import listening_lines
from tests.chip.test_lost_time import COUNTED_SECONDS, by_formula, real_time
from tests.firmware.conftest import build_show

PERIOD_MS = 25
MEASURED_AT = (30, 60, 90, 120, 144, 170, 200, 230, 260, 300)
MOST_PIXELS, LEAST_SECONDS, MOST_SECONDS = 320, 55.0, 95.0
WIDTH, HEIGHT = 1000, 560
LEFT, RIGHT, TOP, BOTTOM = 84, 300, 84, 74
BACKGROUND, INK, FAINT, GRID = (252, 252, 250), (24, 28, 36), (96, 102, 114), (226, 228, 230)


@dataclass(frozen=True)
class Series:
    """One way to count time."""

    title: str
    note: str
    colour: tuple[int, int, int]
    measure: Callable[[int], float]
    formula: Callable[[int], float]


def by_frames(n_pixel: int) -> float:
    """Return the real time in which this project's firmware counts a minute of frames. [s]"""
    show = build_show((n_pixel,), frame_ms=PERIOD_MS, standby_frames=2400)
    with tempfile.TemporaryDirectory() as folder:
        built = build(write_firmware(show, Path(folder) / "firmware"))
    chip = EmulatedChip(built.image, 16e6, listening_lines(show))
    chip.run(round(6.2 * 16e6))
    starts = chip.take_frames().start_cycle
    n_frame = len(starts) - 1
    return float(starts[-1] - starts[0]) / 16e6 / (n_frame * PERIOD_MS / 1000) * COUNTED_SECONDS


SERIES = (
    Series(
        "overflows of an 8-bit timer,",
        "frames paced by a true clock",
        (190, 60, 40),
        lambda n: real_time(n, PERIOD_MS, True, 6),
        lambda n: by_formula(n, PERIOD_MS, True),
    ),
    Series(
        "overflows of an 8-bit timer,",
        "frames paced by that count",
        (208, 140, 20),
        lambda n: real_time(n, PERIOD_MS, False, 6),
        lambda n: by_formula(n, PERIOD_MS, False),
    ),
    Series("this firmware: a 16-bit timer", "that outlasts the line write", (30, 110, 150), by_frames, lambda _: 60.0),
)


def x_of(n_pixel: float) -> float:
    return LEFT + (WIDTH - LEFT - RIGHT) * n_pixel / MOST_PIXELS


def y_of(seconds: float) -> float:
    share = (seconds - LEAST_SECONDS) / (MOST_SECONDS - LEAST_SECONDS)
    return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * share


def draw(path: Path) -> None:
    """Measure and draw."""
    image = Image.new("RGB", (WIDTH, HEIGHT), BACKGROUND)
    pen = ImageDraw.Draw(image)
    small, middle, large = (ImageFont.load_default(size) for size in (15, 17, 24))
    pen.text((LEFT, 16), "Where the time goes", INK, large)
    text = f"Real time for a counted minute, {1000 // PERIOD_MS} frames a second, interrupts off for 30 us a pixel."
    pen.text((LEFT, 48), text, FAINT, small)
    _draw_axes(pen, small)
    for series in SERIES:
        line = [(x_of(n), y_of(series.formula(n))) for n in range(MOST_PIXELS + 1)]
        pen.line(line, series.colour, 2)
        for n_pixel in MEASURED_AT:
            x, y = x_of(n_pixel), y_of(series.measure(n_pixel))
            pen.ellipse((x - 5, y - 5, x + 5, y + 5), series.colour, BACKGROUND, 1)
        y = y_of(series.formula(MOST_PIXELS)) - 20
        pen.text((WIDTH - RIGHT + 14, y), series.title, series.colour, middle)
        pen.text((WIDTH - RIGHT + 14, y + 20), series.note, series.colour, middle)
    pen.text((LEFT + 14, TOP + 8), "dots: emulated chip; lines: the formulas of REHEARSAL-008", FAINT, small)
    image.save(path, "PNG", optimize=True)


def _draw_axes(pen: ImageDraw.ImageDraw, font: ImageFont.FreeTypeFont | ImageFont.ImageFont) -> None:
    for seconds in range(60, 91, 10):
        y = y_of(seconds)
        pen.line((LEFT, y, WIDTH - RIGHT, y), GRID)
        pen.text((LEFT - 10, y), f"{seconds} s", FAINT, font, anchor="rm")
    for n_pixel in range(0, MOST_PIXELS + 1, 50):
        x = x_of(n_pixel)
        pen.line((x, HEIGHT - BOTTOM, x, HEIGHT - BOTTOM + 5), FAINT)
        pen.text((x, HEIGHT - BOTTOM + 10), str(n_pixel), FAINT, font, anchor="ma")
    pen.line((LEFT, HEIGHT - BOTTOM, WIDTH - RIGHT, HEIGHT - BOTTOM), FAINT)
    pen.text((LEFT, HEIGHT - 34), "pixels on the line", FAINT, font)


if __name__ == "__main__":
    draw(Path(sys.argv[1]))
