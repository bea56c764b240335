"""Draws the count indicator frame by frame: the first second of each minute of the countdown."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from lampwright.rehearsal.drawing import BACKGROUND, FAINT, INK, WINDOW, to_screen
from lampwright.rehearsal.model import CircuitRehearsal
from lampwright.show import CircuitShow
from lampwright.written.picture import write_png

LEFT, RIGHT, TOP, BOTTOM = 120, 28, 112, 24
PIXEL, CELL_GAP, ROW_GAP = 5, 3, 14
"""A pixel's side, between two frames, between two minutes. [px]"""

CELL_WIDTH = 22


def draw_countdown(shows: Sequence[CircuitShow], circuits: Sequence[CircuitRehearsal], title: str, path: Path) -> bool:
    """Write the picture of the first circuit as PNG; return ``False``, nothing written, where there is no countdown.

    A row is a minute, a column a frame, pixels go upward from the first.
    """
    minutes = circuits[0].thinned.countdown if circuits else ()
    if not minutes:
        return False
    n_frame = max(len(frames) for frames in minutes)
    n_pixel = minutes[0].shape[1]
    row_height = n_pixel * PIXEL
    width = max(860, LEFT + n_frame * (CELL_WIDTH + CELL_GAP) + RIGHT)
    height = TOP + len(minutes) * (row_height + ROW_GAP) + BOTTOM
    image = Image.new("RGB", (width, height), BACKGROUND)
    pen = ImageDraw.Draw(image)
    small, large = ImageFont.load_default(15), ImageFont.load_default(24)
    pen.text((16, 14), f"{title}: the countdown, frame by frame", INK, large)
    text = (
        f"The first second of each minute, {shows[0].frame_ms} ms a frame, as it left the chip; pixels from the first, "
        "at the bottom, on."
    )
    pen.text((16, 50), text, FAINT, small)
    pen.text((16, 72), _who(circuits), FAINT, small)
    exposure = 255 / max(1, *(int(frames.max(initial=1)) for frames in minutes))
    for row, frames in enumerate(minutes):
        top = TOP + row * (row_height + ROW_GAP)
        left = len(minutes) - row
        pen.text((LEFT - 14, top + row_height / 2), f"{left} min left", INK, small, anchor="rm")
        for column, codes in enumerate(to_screen(frames, exposure)):
            x = LEFT + column * (CELL_WIDTH + CELL_GAP)
            cell = np.repeat(codes[::-1, None, :], CELL_WIDTH, axis=1)
            picture = Image.fromarray(np.repeat(cell, PIXEL, axis=0), "RGB")
            pen.rectangle((x - 1, top - 1, x + CELL_WIDTH, top + row_height), None, WINDOW)
            image.paste(picture, (x, top))
    write_png(path, image)
    return True


def _who(circuits: Sequence[CircuitRehearsal]) -> str:
    """Return which circuits this is the countdown of."""
    first = circuits[0]
    alike = [one for one in circuits[1:] if _is_alike(one, first)]
    if len(circuits) == 1:
        return ""
    if len(alike) == len(circuits) - 1:
        return f"All {len(circuits)} circuits sent the same."
    return f'Circuit "{first.name}"; {len(alike)} of {len(circuits) - 1} others sent the same.'


def _is_alike(one: CircuitRehearsal, other: CircuitRehearsal) -> bool:
    mine, others = one.thinned.countdown, other.thinned.countdown
    return len(mine) == len(others) and all(np.array_equal(a, b) for a, b in zip(mine, others, strict=True))
