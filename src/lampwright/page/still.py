"""Still pictures of the piece, from the very codes that the chips send; no browser has a part in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import gaussian_filter

from lampwright.look.colour import linear_to_screen
from lampwright.page.backdrop import Body, Light, draw_backdrop, person_mask
from lampwright.page.camera import Camera, Seen, Stand, stand
from lampwright.page.scene import hanging_lines, outline
from lampwright.piece.model import Piece
from lampwright.show import CircuitShow, frames

PERSON_ASIDE = 0.9
"""Somebody stands this far beside the piece. (our choice) [m]"""

PERSON_HEIGHT = 1.75
"""[m]"""

COARSER = 4
"""The wide glow is worked out on a picture this much smaller: it has no edges to lose."""

PATCH_ACROSS = 0.020
"""A pixel glows as wide as this, sleeve and all. (our choice) [m]"""

CORE, NEAR_GLOW, WIDE_GLOW = 1.0, 0.26, 0.10
"""Light at a pixel's own place with all pixels lit: its own, of the glow close by and far around. (our choice)"""

ADAPTED = 1.6
"""What a pixel at the piece's brightness comes to, before the eye's own bend. (our choice)"""


_CODE_OF_LIGHT = linear_to_screen((np.arange(1 << 16) + 0.5) / (1 << 16))
"""A screen's codes of light from 0 to 1, looked up: several times as fast as working out each power."""


@dataclass(frozen=True)
class Sight:
    """How a picture is to be seen."""

    where: Stand = Stand.IN_FRONT
    light: Light = Light.DUSK
    width: int = 1280
    height: int = 720


class Painter:
    """Paints the frames of one piece from one place; what doesn't change is drawn once."""

    def __init__(self, piece: Piece, shows: Sequence[CircuitShow], sight: Sight) -> None:
        pixels = np.concatenate([show.layout.xyz for show in shows])
        body = body_of(piece, shows)
        top = body.person + np.array([0.0, 0.0, PERSON_HEIGHT])
        everything = np.vstack([pixels, *body.members, body.person, top])
        self.camera = stand(sight.where, everything, sight.width, sight.height)
        self._shows = shows
        self._exposure = ADAPTED / max(0.05, piece.show.brightness)
        self._backdrop = draw_backdrop(body, self.camera, sight.light)
        self._spots = _Spots(self.camera, pixels, body)

    def paint(self, frame: int) -> Image.Image:
        """Return the picture of one frame, counted from power-on."""
        return self.paint_codes(np.concatenate([frames(show, frame, 1)[0] for show in self._shows]))

    def paint_codes(self, codes: NDArray[np.uint8]) -> Image.Image:
        """Return the picture of the codes (n_pixel, 3) of all circuits: red, green, blue, 0 to 255.

        Codes are shares of time and so of light; an eye's bend takes the brightest back, and what it
        has seen is put on the screen by the screen's own bend.
        """
        light = codes.astype(np.float32) * np.float32(self._exposure / 255)
        seen = 1 - np.exp(-self._spots.glow(light))
        shown = np.clip(seen + self._backdrop * (1 - seen), 0.0, 1 - 1e-6)
        return Image.fromarray(_CODE_OF_LIGHT[(shown * len(_CODE_OF_LIGHT)).astype(np.int64)])


class _Spots:
    """Pixels as spots on the picture, and how their light spreads."""

    def __init__(self, camera: Camera, places: NDArray[np.float64], body: Body) -> None:
        self._size = (camera.height, camera.width)
        seen = camera.see(places)
        inside = seen.is_before & (np.abs(seen.x - camera.width / 2) < camera.width / 2 - 1)
        inside &= np.abs(seen.y - camera.height / 2) < camera.height / 2 - 1
        self._chosen = chosen = np.flatnonzero(inside & ~_hidden(camera, seen, body.person))
        self._x, self._y = seen.x[chosen], seen.y[chosen]
        depth = seen.depth[chosen]
        middle = float(np.median(depth)) if depth.size else 1.0
        # the farther of two equal lamps sends less into the eye
        self._weight = np.clip((middle / depth) ** 2, 0.25, 4.0)
        core = max(0.75, camera.focal * PATCH_ACROSS / middle / 2)
        self._sigmas = (core, max(2.0, 2.5 * core), camera.height / 45)
        self._gains = self._even_gains()

    def _even_gains(self) -> tuple[float, float, float]:
        """Return by what each spread is multiplied, so that close pixels together don't outshine lone ones."""
        if not self._chosen.size:
            return (0.0, 0.0, 0.0)
        rows, columns = self._y.astype(np.int64), self._x.astype(np.int64)
        parts = self._parts(self._weight[:, None])
        usual = [max(1e-9, float(np.median(part[rows, columns]))) for part in parts]
        return (CORE / usual[0], NEAR_GLOW / usual[1], WIDE_GLOW / usual[2])

    def glow(self, light: NDArray[np.float32]) -> NDArray[np.float32]:
        """Return the light of pixels (n_pixel, 3) over the picture, (height, width, 3)."""
        own = light[self._chosen] * self._weight[:, None]
        picture = np.empty((*self._size, 3), np.float32)
        for channel in range(3):
            parts = self._parts(own[:, channel : channel + 1])
            picture[:, :, channel] = sum(np.float32(gain) * part for gain, part in zip(self._gains, parts, strict=True))
        return picture

    def _parts(self, light: NDArray[np.float64]) -> tuple[NDArray[np.float32], ...]:
        """Return light (n, 1) spread by its core, close by and far around, each (height, width)."""
        core, near, wide = self._sigmas
        sharp = self._spread(light, 1)
        coarse = _blurred(self._spread(light, COARSER), wide / COARSER)
        return _blurred(sharp, core), _blurred(sharp, near), self._enlarged(coarse)

    def _spread(self, light: NDArray[np.float64], coarser: int) -> NDArray[np.float32]:
        """Put each spot's light on the four points around it, by their nearness."""
        height, width = (-(-size // coarser) for size in self._size)
        x, y = self._x / coarser - 0.5, self._y / coarser - 0.5
        left, upper = np.floor(x).astype(np.int64), np.floor(y).astype(np.int64)
        right_share, lower_share = x - left, y - upper
        sums = np.zeros(height * width)
        for down, share_y in ((0, 1 - lower_share), (1, lower_share)):
            for aside, share_x in ((0, 1 - right_share), (1, right_share)):
                row = np.clip(upper + down, 0, height - 1)
                column = np.clip(left + aside, 0, width - 1)
                sums += np.bincount(row * width + column, light[:, 0] * share_x * share_y, height * width)
        return sums.reshape(height, width).astype(np.float32)

    def _enlarged(self, coarse: NDArray[np.float32]) -> NDArray[np.float32]:
        height, width = self._size
        return np.asarray(Image.fromarray(coarse).resize((width, height), Image.Resampling.BILINEAR))


def _blurred(light: NDArray[np.float32], sigma: float) -> NDArray[np.float32]:
    return np.asarray(gaussian_filter(light, sigma, mode="constant", truncate=3.0))


def _hidden(camera: Camera, seen: Seen, person: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return which places lie behind somebody who stands there."""
    mask = person_mask(camera, person)
    rows = np.clip(seen.y, 0, camera.height - 1).astype(np.int64)
    columns = np.clip(seen.x, 0, camera.width - 1).astype(np.int64)
    return mask[rows, columns] & (seen.depth > float(camera.see(person[None, :]).depth[0]))


def body_of(piece: Piece, shows: Sequence[CircuitShow]) -> Body:
    """Return what of the piece is seen without its light, and somebody beside it."""
    pixels = np.concatenate([show.layout.xyz for show in shows])
    members = [np.array(outline(member)).reshape(-1, 3) for member in piece.members]
    cords = [np.array(line).reshape(-1, 3) for show in shows for line in hanging_lines(show.layout)]
    everything = np.vstack([pixels, *members])
    low, high = everything.min(axis=0), everything.max(axis=0)
    ground = min(0.0, float(low[2]))
    person = np.array([high[0] + PERSON_ASIDE, (low[1] + high[1]) / 2, ground])
    return Body(members, cords, ground, person)
