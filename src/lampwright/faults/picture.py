"""The piece with what a fault takes from it, drawn from its layout; readable in grey.

Lit pixels are bright dots, lost ones dark rings: the difference is one of shape and of lightness, not of hue.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from lampwright.faults.cost import Outage
from lampwright.faults.every import Body, show_damage
from lampwright.layout.model import Layout
from lampwright.written.picture import write_png

SIZE, MARGIN, HEAD = (1000, 560), 40, 70
PAPER, INK, LIT, GONE, STILL = (255, 255, 255), (20, 20, 20), (60, 60, 60), (176, 176, 176), (120, 120, 120)
SIDEWAYS, UPWARD = 0.45, 0.25
"""How far a metre of depth moves a point to the side and up, so that what stands behind isn't hidden. [m]"""


def draw_outage(layout: Layout, body: Body, outage: Outage, path: Path) -> None:
    """Write the piece as PNG, in one step: what is lit filled, dark as rings, frozen or wrong as crosses.

    Raises
    ------
    OSError
        That names the picture.
    """
    image = Image.new("RGB", SIZE, PAPER)
    pen = ImageDraw.Draw(image)
    font, title = ImageFont.load_default(14), ImageFont.load_default(18)
    more = f" (and {len(outage.names) - 1} others alike)" if len(outage.names) > 1 else ""
    pen.text((MARGIN, 16), _cut(outage.names[0] + more, 100), INK, title)
    n_circuit = len(body.anatomies)
    lit = f"{100 * outage.pixels_lit:.0f} % of pixels, {round(outage.circuits_lit * n_circuit)} of {n_circuit} circuits"
    pen.text((MARGIN, 42), f"{lit} lit.  Filled: lit.  Ring: dark.  Cross: frozen or wrong.", INK, font)
    shown = show_damage(body, outage.damages)
    spots = on_paper(np.concatenate([circuit.xyz for circuit in layout.circuits]))
    for (x, y), is_dark, is_lost in zip(spots, shown.dark, shown.lost, strict=True):
        if is_dark:
            pen.ellipse((x - 3, y - 3, x + 3, y + 3), outline=GONE)
        elif is_lost:
            pen.line((x - 3, y - 3, x + 3, y + 3), STILL)
            pen.line((x - 3, y + 3, x + 3, y - 3), STILL)
        else:
            pen.ellipse((x - 3, y - 3, x + 3, y + 3), fill=LIT)
    write_png(path, image.quantize(16))


def on_paper(xyz: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return (n, 2) places on the picture of places in the piece, seen at a slant. [px]"""
    across = xyz[:, 0] + SIDEWAYS * xyz[:, 1]
    up = xyz[:, 2] + UPWARD * xyz[:, 1]
    flat = np.stack([across, -up], axis=1)
    low, high = flat.min(axis=0), flat.max(axis=0)
    room = np.array([SIZE[0] - 2 * MARGIN, SIZE[1] - MARGIN - HEAD - MARGIN], dtype=np.float64)
    scale = float(np.min(room / np.maximum(high - low, 1e-6)))
    placed: NDArray[np.float64] = (flat - (low + high) / 2) * scale + np.array([SIZE[0] / 2, HEAD + 10 + room[1] / 2])
    return placed


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 3] + "..."
