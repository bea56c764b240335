"""What the rehearsal's pictures have in common: colours, and the light of a code."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import ImageFont

from lampwright.look.colour import linear_to_screen

Font = ImageFont.FreeTypeFont | ImageFont.ImageFont
Colour = tuple[int, int, int]

BACKGROUND, INK, FAINT = (14, 17, 24), (226, 230, 238), (128, 136, 152)
GOOD, BAD, WINDOW = (112, 196, 236), (255, 104, 84), (38, 52, 66)


def to_screen(codes: NDArray[np.uint8], exposure: float) -> NDArray[np.uint8]:
    """Return codes as a screen shows their light, so many times brighter."""
    return linear_to_screen(codes / 255.0 * exposure)
