"""The compiled inner loop of the screening for flashes; :mod:`lampwright.show.flash_changes` says what it follows.

It calls nothing outside this file, because numba's cache looks only at the file of what it compiled.
"""

from __future__ import annotations

from typing import Any

import numba

_compile: Any = numba.njit
"""Untyped here, since the types that come with numba don't know all of its options."""


@_compile(cache=True, error_model="numpy", nogil=True)
def follow_luminance(
    luminance: Any, sign: Any, extreme: Any, lowest: Any, is_unsettled: Any, step: Any, dark: Any, directions: Any
) -> None:
    """Note each change of direction of each pixel.

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
    for now in range(luminance.shape[0]):
        for pixel in range(luminance.shape[1]):
            light = luminance[now, pixel]
            back = sign[pixel] * light
            extreme[pixel] = max(extreme[pixel], back)
            if extreme[pixel] - back >= step and (sign[pixel] < 0 or light < dark):
                sign[pixel] = -sign[pixel]
                extreme[pixel] = sign[pixel] * light
                directions[now, pixel] = sign[pixel]
            if is_unsettled[pixel]:
                lowest[pixel] = min(lowest[pixel], light)
                if sign[pixel] < 0:
                    is_unsettled[pixel] = False
                elif light - lowest[pixel] >= step and lowest[pixel] < dark:
                    is_unsettled[pixel] = False
                    directions[now, pixel] = 1
