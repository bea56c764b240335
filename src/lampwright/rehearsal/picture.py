"""Draws what the chips sent: time runs across, pixels down, in the colours an eye would see."""

from __future__ import annotations

import io
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from lampwright.rehearsal.model import CircuitRehearsal
from lampwright.show import CircuitShow

Font = ImageFont.FreeTypeFont | ImageFont.ImageFont

WIDTH = 1600
LEFT, RIGHT, TOP, GAP, BOTTOM = 92, 22, 74, 16, 58
PIXEL_ROWS = 150
"""Height of one circuit's band."""

BACKGROUND, INK, FAINT = (14, 17, 24), (226, 230, 238), (120, 128, 144)
EXPOSURE = 1.6
"""Lifts the picture: codes are shares of full drive, and a strip at a third of it is bright in the dark."""


def draw_rehearsal(shows: Sequence[CircuitShow], circuits: Sequence[CircuitRehearsal], title: str, path: Path) -> None:
    """Write the picture as PNG, atomically."""
    height = TOP + len(circuits) * (PIXEL_ROWS + GAP) - GAP + BOTTOM
    image = Image.new("RGB", (WIDTH, height), BACKGROUND)
    pen = ImageDraw.Draw(image)
    small, large = ImageFont.load_default(15), ImageFont.load_default(22)
    pen.text((LEFT, 14), title, INK, large)
    pen.text((LEFT, 44), "what each chip sent, decoded from its data pins: time across, pixels down", FAINT, small)
    band = (WIDTH - LEFT - RIGHT, PIXEL_ROWS)
    for index, seen in enumerate(circuits):
        top = TOP + index * (PIXEL_ROWS + GAP)
        image.paste(_band(seen.strip.codes, band), (LEFT, top))
        pen.text((14, top + 2), seen.name, INK, small)
        pen.text((14, top + 22), f"{seen.n_pixel} px", FAINT, small)
        for run in shows[index].layout.runs[1:]:
            y = top + round(run.first / seen.n_pixel * PIXEL_ROWS)
            pen.line((LEFT - 8, y, LEFT - 2, y), FAINT)
    if circuits:
        _draw_time(pen, shows[0], circuits[0], height, small)
    _save(image, path)


def _band(codes: NDArray[np.uint8], size: tuple[int, int]) -> Image.Image:
    """Return codes (n_kept, n_pixel, 3) as a picture of ``size``.

    Where several frames share a column the brightest of each pixel is shown, so that flashes of
    the count indicator don't vanish between the columns.
    """
    if len(codes) == 0:
        return Image.new("RGB", size, (0, 0, 0))
    width, height = size
    edges = np.linspace(0, len(codes), width + 1).astype(int)
    columns = np.stack([codes[a : max(a + 1, b)].max(axis=0) for a, b in pairwise(edges)])
    rows = np.linspace(0, codes.shape[1], height + 1).astype(int)
    cells = np.stack([columns[:, a : max(a + 1, b)].max(axis=1) for a, b in pairwise(rows)])
    light = np.clip(cells / 255.0 * EXPOSURE, 0, 1)
    shown = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return Image.fromarray((shown * 255).round().astype(np.uint8), "RGB")


def _draw_time(pen: ImageDraw.ImageDraw, show: CircuitShow, seen: CircuitRehearsal, height: int, font: Font) -> None:
    """Mark minutes, the start of the show and each cue below the bands."""
    seconds = seen.n_frame * show.frame_ms / 1000
    standby = show.standby_frames * show.frame_ms / 1000
    bottom = height - BOTTOM

    def across(moment: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * moment / seconds

    for minute in range(int(seconds // 60) + 1):
        x = across(minute * 60)
        pen.line((x, bottom, x, bottom + 5), FAINT)
        pen.text((x, bottom + 7), str(minute), FAINT, font, anchor="ma")
    pen.text((WIDTH - RIGHT, bottom + 30), "minutes since switched on", FAINT, font, anchor="ra")
    marks = [(0.0, "countdown: pixels lit = minutes left")]
    marks += [(standby + cue.start * show.frame_ms / 1000, cue.program.look.name) for cue in show.cues]
    for moment, name in marks:
        if moment < seconds:
            x = across(moment)
            pen.line((x, TOP - 6, x, bottom), FAINT)
            pen.text((x + 4, bottom + 30), name, INK, font)


def _save(image: Image.Image, path: Path) -> None:
    buffer = io.BytesIO()
    image.save(buffer, "PNG", optimize=True)
    temporary = path.with_name(path.name + ".part")
    temporary.write_bytes(buffer.getvalue())
    temporary.replace(path)
