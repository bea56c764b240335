"""Finds the changes that flashes are made of: large swings of light, and to and from saturated red.

A flash is a pair of opposing changes. Each follower goes through the frames once, holds two or three
numbers for each pixel, and gives out where and when a pixel has grown brighter (or turned red) by
enough, or has grown darker (or ceased to be red) by enough.

Source
------
Web Content Accessibility Guidelines (WCAG) 2.2, W3C, "general flash and red flash thresholds" and
"relative luminance". Primaries and white: IEC 61966-2-1:1999 (sRGB).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.parts.model import Strip
from lampwright.piece.model import ShowSheet
from lampwright.show.flash_kernels import follow_luminance, places_of, weigh

STEP = 0.10 - 1e-6
"""Least swing of a general flash, as a share of the lightest white; less rounding. (WCAG 2.2)"""

DARK_BELOW = 0.80
"""The darker state of a general flash lies below this. (WCAG 2.2)"""

RED_SHARE = 0.80
"""R / (R + G + B) from which a red is saturated. (WCAG 2.2)"""

RED_DISTANCE = 0.20
"""The two states of a red change lie further apart than this in CIE 1976 u′v′. (WCAG 2.2)"""

VEIL = 0.0037
"""White light that the surroundings add to dark colours, so that darkness has a colour too; it fades out
toward full light. Chosen so that pure red counts against darkness from 1/16 of full on: the older
definition, (R − G − B) × 320 above 20, begins there. (our choice)"""

LEAST_WHITE = 0.10
"""Below this share of full drive, the lightest white isn't taken to be any darker: the steps between
codes would count as flashes. (our choice)"""

TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
"""Linear red, green, blue to CIE X, Y, Z; the second row weighs relative luminance. (IEC 61966-2-1)"""


@dataclass(frozen=True)
class Light:
    """What a strip's codes mean to an eye."""

    rgb_of_code: NDArray[np.float64]
    """(3,) linear red, green, blue of one code step; the lightest white of the looks has luminance 1."""


def light_of(strip: Strip, sheet: ShowSheet) -> Light:
    """Return how a strip's codes look, measured by the lightest white that the looks can make.

    Pixels are driven by pulse width, so codes are linear light. How strong each channel is follows
    from the part's own white. The lightest white is all channels at the sheet's brightness: a
    piece that is dimmed as a whole flashes no less to an eye that is used to the dark.
    """
    white = np.array([strip.white_red.value, strip.white_green.value, strip.white_blue.value])
    fullest = white if sheet.is_balanced else np.ones(3)
    lightest = max(sheet.brightness, LEAST_WHITE) * float(TO_XYZ[1] @ (fullest / white))
    return Light(1 / (255 * white * lightest))


@dataclass(frozen=True)
class Changes:
    """Changes in order of time; each entry of the three (n_change,) arrays is one."""

    frames: NDArray[np.int64]  # from 0
    pixels: NDArray[np.int64]
    directions: NDArray[np.int8]  # 1 brighter or to red, -1 darker or from red


def join_changes(parts: Sequence[Changes]) -> Changes:
    """Return all changes in order of time."""
    frames = np.concatenate([np.empty(0, dtype=np.int64), *(part.frames for part in parts)])
    order = np.argsort(frames, kind="stable")
    pixels = np.concatenate([np.empty(0, dtype=np.int64), *(part.pixels for part in parts)])
    directions = np.concatenate([np.empty(0, dtype=np.int8), *(part.directions for part in parts)])
    return Changes(frames[order], pixels[order], directions[order])


class ChangeFinder:
    """Follows all pixels of all circuits through one stretch of the show.

    ``is_from_dark`` says that the stretch begins at power-on, when all was dark. Otherwise it isn't
    known which way each pixel went last; its first change then counts, whichever way it goes.
    """

    def __init__(self, lights: Sequence[Light], n_pixels: Sequence[int], is_from_dark: bool) -> None:
        self._lights = tuple(lights)
        self._luminance = LuminanceFollower(sum(n_pixels), is_from_dark)
        self._red = tuple(RedFollower(n_pixel) for n_pixel in n_pixels)
        self._firsts = np.cumsum([0, *n_pixels])
        self._n_frame = 0

    def follow(self, codes: Sequence[NDArray[np.uint8]]) -> tuple[Changes, Changes]:
        """Return general and red changes of the next frames; frames count from the first ever followed.

        ``codes`` are (n_frame, n_pixel, 3), red, green, blue as sent, of each circuit.
        """
        luminance = np.empty((len(codes[0]), self._firsts[-1]), dtype=np.float32)
        reds = []
        for light, follower, own, first in zip(self._lights, self._red, codes, self._firsts[:-1], strict=True):
            _weigh(own, TO_XYZ[1] * light.rgb_of_code, luminance[:, first : first + own.shape[1]])
            red = follower.follow(own, light)
            reds.append(Changes(red.frames + self._n_frame, red.pixels + first, red.directions))
        general = self._luminance.follow(luminance)
        before, self._n_frame = self._n_frame, self._n_frame + len(luminance)
        return Changes(general.frames + before, general.pixels, general.directions), join_changes(reds)


def _weigh(codes: NDArray[np.uint8], weights: NDArray[np.float64], out: NDArray[np.float32]) -> None:
    """Put the weighed sum of the channels."""
    weigh(codes, weights.astype(np.float32), out)


class LuminanceFollower:
    """Finds swings of relative luminance, from each extreme to the next.

    A pixel that grows brighter goes on doing so until it is :data:`STEP` below the brightest it was,
    and below :data:`DARK_BELOW`; then it has changed, and grows darker until it is as much above the
    darkest. How long a swing takes doesn't matter here: slow ones are too few in a second to count.
    """

    def __init__(self, n_pixel: int, is_from_dark: bool) -> None:
        self._sign = np.full(n_pixel, -1 if is_from_dark else 1, dtype=np.float32)  # 1 brighter, -1 darker
        self._extreme = np.full(n_pixel, 0 if is_from_dark else -np.inf, dtype=np.float32)
        """Brightest since the last change; or minus the darkest, which is the highest too."""
        self._lowest = np.full(n_pixel, np.inf, dtype=np.float32)
        self._is_unsettled = np.full(n_pixel, not is_from_dark)
        """Whether no change was seen yet, and it isn't known where the pixel came from: it is taken to
        grow brighter, but may change by growing brighter too."""

    def follow(self, luminance: NDArray[np.float32]) -> Changes:
        """Return the changes of the next frames (n_frame, n_pixel); 1 is the lightest white."""
        directions = np.zeros(luminance.shape, dtype=np.int8)
        state = (self._sign, self._extreme, self._lowest, self._is_unsettled)
        n_change = follow_luminance(luminance, *state, np.float32(STEP), np.float32(DARK_BELOW), directions)
        frames, pixels = places_of(directions, n_change)
        return Changes(frames, pixels, directions[frames, pixels])


class RedFollower:
    """Finds changes between saturated red and colours far from it, in one circuit.

    Two saturated reds are never :data:`RED_DISTANCE` apart, so that each change either enters or
    leaves them. It is measured from the reddest state since entering, or the least red since leaving.
    Pixels that haven't been red yet cost nothing; what they were before isn't known when they first turn
    red, and that counts as a change whatever it was.
    """

    def __init__(self, n_pixel: int) -> None:
        self._has_been_red = np.zeros(n_pixel, dtype=bool)
        self._is_red = np.zeros(n_pixel, dtype=bool)
        self._uv = np.full((n_pixel, 2), np.inf)  # state to measure from
        self._from_red = np.full(n_pixel, np.inf)

    def follow(self, codes: NDArray[np.uint8], light: Light) -> Changes:
        """Return the changes of the next frames: codes (n_frame, n_pixel, 3)."""
        redness = np.empty(codes.shape[:2], dtype=np.float32)
        weights = light.rgb_of_code * [1 - RED_SHARE, -RED_SHARE, -RED_SHARE]
        weights[0] *= 1 + 1e-5  # 0 where dark, above it where the share is exactly at the limit
        _weigh(codes, weights, redness)
        self._has_been_red |= redness.max(axis=0, initial=0) > 0
        pixels = np.flatnonzero(self._has_been_red)
        if not pixels.size:
            return join_changes([])
        uv = _uv(codes[:, pixels] * light.rgb_of_code)
        changes = self._follow(pixels, uv, redness[:, pixels] > 0)
        return Changes(changes.frames, pixels[changes.pixels], changes.directions)

    def _follow(self, pixels: NDArray[np.int64], uv: NDArray[np.float64], is_saturated: NDArray[np.bool_]) -> Changes:
        was_red, start, start_from_red = self._is_red[pixels], self._uv[pixels], self._from_red[pixels]
        from_red = _from_red(uv)
        directions = np.zeros(is_saturated.shape, dtype=np.int8)
        for now in range(len(uv)):
            is_far = ((uv[now] - start) ** 2).sum(axis=1) > RED_DISTANCE**2
            has_changed = is_far & (is_saturated[now] != was_red)
            was_red ^= has_changed
            directions[now, has_changed] = np.where(was_red[has_changed], 1, -1)
            is_further = np.where(was_red, from_red[now] < start_from_red, from_red[now] > start_from_red)
            moved = has_changed | (is_further & (is_saturated[now] == was_red))
            start[moved], start_from_red[moved] = uv[now, moved], from_red[now, moved]
        self._is_red[pixels], self._uv[pixels], self._from_red[pixels] = was_red, start, start_from_red
        frames, changed = np.nonzero(directions)
        return Changes(frames, changed, directions[frames, changed])


def _uv(rgb: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return CIE 1976 u′, v′ of linear red, green, blue, all along the last axis."""
    veil = VEIL * np.clip(1 - rgb.max(axis=-1, keepdims=True), 0, 1)
    x, y, z = np.moveaxis((rgb + veil) @ TO_XYZ.T, -1, 0)
    return np.asarray(np.stack([4 * x, 9 * y], axis=-1) / (x + 15 * y + 3 * z)[..., None])


def _from_red(uv: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the distance of colours from pure red in u′v′."""
    red = _uv(np.array([1e6, 0.0, 0.0]))
    return np.asarray(np.hypot(uv[..., 0] - red[0], uv[..., 1] - red[1]))
