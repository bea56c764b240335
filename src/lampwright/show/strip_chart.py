"""Draws a look for its page: its brightest moment as glowing dots, and time across by pixels down."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from lampwright.look.colour import linear_to_screen

WIDTH, HEIGHT = 900, 262
LEFT, STILL_TOP, CHART_TOP = 76, 36, 76
STILL_HEIGHT = 26
CORE, HALO, HALO_SHARE = 1.4, 4.5, 0.12
"""Widths of a dot and of the glow around it [px], and how bright the glow is beside the dot."""

BACKGROUND, INK, FAINT = (14, 17, 24), (226, 230, 238), (128, 136, 152)
N_COLOUR = 128
"""Colours of a picture's palette: enough for one look, and a third of the bytes of full colour."""
N_LABEL = 8
"""Colours of the palette kept for each kind of label, from the ground up, so that a look can't tint them."""


@dataclass(frozen=True)
class Drawn:
    """A look as drawn: ``light`` is (n_frame, n_pixel, 3) linear, 0 to 1, one frame after ``frame_seconds``."""

    name: str
    place: str
    light: NDArray[np.float64]
    frame_seconds: float

    @property
    def brightest(self) -> int:
        """The first frame with the most light."""
        return int(self.light.sum(axis=(1, 2)).argmax())


def draw(look: Drawn) -> Image.Image:
    """Return the picture, with a palette."""
    n_frame, n_pixel, _ = look.light.shape
    image = Image.new("RGB", (WIDTH, HEIGHT), BACKGROUND)
    pen = ImageDraw.Draw(image)
    font, title = ImageFont.load_default(12), ImageFont.load_default(17)
    pen.text((LEFT, 9), look.name, INK, title)
    pen.text((LEFT + n_frame, 14), look.place, FAINT, font, anchor="ra")
    moment = look.brightest
    pen.text((LEFT - 10, STILL_TOP + STILL_HEIGHT // 2), f"{moment * look.frame_seconds:.1f} s", FAINT, font, "rm")
    image.paste(_picture(_dots(look.light[moment], n_frame)), (LEFT, STILL_TOP))
    image.paste(_picture(look.light.transpose(1, 0, 2)), (LEFT, CHART_TOP))
    _mark(pen, look, n_pixel, font)
    pen.polygon([(LEFT + moment + d, CHART_TOP - h) for d, h in ((0, 3), (-4, 9), (4, 9))], FAINT)
    return image.quantize(palette=_palette(image), dither=Image.Dither.FLOYDSTEINBERG)


def _palette(image: Image.Image) -> Image.Image:
    """Return an image that holds the palette: the look's colours, then those of the labels."""
    own = image.quantize(N_COLOUR - 2 * N_LABEL, Image.Quantize.MEDIANCUT).getpalette() or []
    labels = []
    for ink in (INK, FAINT):
        for step in range(N_LABEL):
            share = step / (N_LABEL - 1)
            labels += [round(a + (b - a) * share) for a, b in zip(BACKGROUND, ink, strict=True)]
    holder = Image.new("P", (1, 1))
    holder.putpalette(own + labels)
    return holder


def _mark(
    pen: ImageDraw.ImageDraw, look: Drawn, n_pixel: int, font: ImageFont.FreeTypeFont | ImageFont.ImageFont
) -> None:
    """Mark seconds below the chart, and the first and last pixel beside it."""
    bottom = CHART_TOP + n_pixel
    seconds = round(len(look.light) * look.frame_seconds)
    for moment in range(0, seconds + 1, 5):
        x = LEFT + round(moment / look.frame_seconds)
        pen.line((x, bottom, x, bottom + 4), FAINT)
        pen.text((x, bottom + 7), f"{moment} s", FAINT, font, anchor="ma")
    pen.text((LEFT - 10, CHART_TOP), "pixel 0", FAINT, font, anchor="ra")
    pen.text((LEFT - 10, bottom), str(n_pixel - 1), FAINT, font, anchor="rs")


def _dots(light: NDArray[np.float64], width: int) -> NDArray[np.float64]:
    """Return a row of pixels (n_pixel, 3) as light (STILL_HEIGHT, width, 3)."""
    across = np.arange(width) + 0.5
    centres = (np.arange(len(light)) + 0.5) * width / len(light)
    down = np.arange(STILL_HEIGHT) + 0.5 - STILL_HEIGHT / 2
    total = np.zeros((STILL_HEIGHT, width, 3))
    for spread, share in ((CORE, 1.0), (HALO, HALO_SHARE)):
        row = np.exp(-(((across[:, None] - centres[None, :]) / spread) ** 2) / 2) @ light
        total += share * np.exp(-((down / spread) ** 2) / 2)[:, None, None] * row[None]
    return total


def _picture(light: NDArray[np.float64]) -> Image.Image:
    """Return linear light (height, width, 3) as an image."""
    return Image.fromarray(linear_to_screen(light), "RGB")
