"""The compiled inner loops of the screening for flashes; :mod:`lampwright.show.flash_changes` says what it follows.

It calls nothing outside this file, because numba's cache looks only at the file of what it compiled.
"""

from __future__ import annotations

from typing import Any

import numba
import numpy as np

_compile: Any = numba.njit
"""Untyped here, since the types that come with numba don't know all of its options."""


@_compile(cache=True, error_model="numpy", nogil=True)
def follow_luminance(
    luminance: Any, sign: Any, extreme: Any, lowest: Any, is_unsettled: Any, step: Any, dark: Any, directions: Any
) -> int:
    """Note each change of direction of each pixel, and return how many there are.

    Parameters
    ----------
    luminance : (n_frame, n_pixel) float32
    sign, extreme, lowest, is_unsettled : (n_pixel,)
        State of :class:`lampwright.show.flash_changes.LuminanceFollower`, brought up to date.
    step, dark : float32
        Least swing, and the luminance below which its darker end has to lie.
    directions : (n_frame, n_pixel) int8
        Gets 1 where a pixel has changed to growing brighter, -1 to growing darker; zeros before.
    """
    n_change = 0
    for now in range(luminance.shape[0]):
        for pixel in range(luminance.shape[1]):
            light = luminance[now, pixel]
            back = sign[pixel] * light
            extreme[pixel] = max(extreme[pixel], back)
            if extreme[pixel] - back >= step and (sign[pixel] < 0 or light < dark):
                sign[pixel] = -sign[pixel]
                extreme[pixel] = sign[pixel] * light
                directions[now, pixel] = sign[pixel]
                n_change += 1
            if is_unsettled[pixel]:
                lowest[pixel] = min(lowest[pixel], light)
                if sign[pixel] < 0:
                    is_unsettled[pixel] = False
                elif light - lowest[pixel] >= step and lowest[pixel] < dark:
                    is_unsettled[pixel] = False
                    directions[now, pixel] = 1
                    n_change += 1
    return n_change


@_compile(cache=True, error_model="numpy", nogil=True)
def weigh(codes: Any, weights: Any, out: Any) -> None:
    """Put the sum of the channels by their weights, added up in single precision from red on.

    Parameters
    ----------
    codes : (n_frame, n_pixel, 3) uint8
    weights : (3,) float32
    out : (n_frame, n_pixel) float32
    """
    red, green, blue = weights[0], weights[1], weights[2]
    for now in range(codes.shape[0]):
        for pixel in range(codes.shape[1]):
            sum_so_far = np.float32(codes[now, pixel, 0]) * red + np.float32(codes[now, pixel, 1]) * green
            out[now, pixel] = sum_so_far + np.float32(codes[now, pixel, 2]) * blue


@_compile(cache=True, error_model="numpy", nogil=True)
def places_of(directions: Any, n_change: Any) -> Any:
    """Return (n_change,) frames and pixels at which ``directions`` (n_frame, n_pixel) int8 is not 0, in that order."""
    frames, pixels = np.empty(n_change, np.int64), np.empty(n_change, np.int64)
    found = 0
    for now in range(directions.shape[0]):
        for pixel in range(directions.shape[1]):
            if directions[now, pixel] != 0:
                frames[found], pixels[found] = now, pixel
                found += 1
    return frames, pixels
