"""Keeps enough of the decoded frames for a picture, and no more."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lampwright.rehearsal.model import Thinned
from lampwright.show import CircuitShow

KEPT_STANDBY, KEPT_SHOW = 1200, 2400
"""About how many frames of each are kept."""


class Thinning:
    """Takes frames block by block and keeps every so-manieth."""

    def __init__(self, show: CircuitShow, n_frame: int) -> None:
        self._border = show.standby_frames
        reach = max(show.indicator.pixels, default=0) + 1
        gap = show.indicator.pixels[1] - show.indicator.pixels[0] if len(show.indicator.pixels) > 1 else 1
        self._n_indicator = min(show.n_pixel, reach + gap)
        self._every_standby = max(1, show.standby_frames // KEPT_STANDBY)
        self._every_show = max(1, (n_frame - show.standby_frames) // KEPT_SHOW)
        self._seconds = [range(frame, frame + round(1000 / show.frame_ms)) for frame in _minute_starts(show)]
        self._countdown: list[list[NDArray[np.uint8]]] = [[] for _ in self._seconds]
        self._standby: list[NDArray[np.uint8]] = [np.zeros((0, self._n_indicator, 3), dtype=np.uint8)]
        self._show: list[NDArray[np.uint8]] = [np.zeros((0, show.n_pixel, 3), dtype=np.uint8)]

    def add(self, first: int, codes: NDArray[np.uint8]) -> None:
        """Take frames ``first`` and following, (n_frame, n_pixel, 3)."""
        border = max(0, self._border - first)
        standby, show = codes[:border], codes[border:]
        self._standby.append(standby[-first % self._every_standby :: self._every_standby, : self._n_indicator].copy())
        for second, kept in zip(self._seconds, self._countdown, strict=True):
            of_second = standby[max(0, second.start - first) : max(0, second.stop - first), : self._n_indicator]
            if len(of_second):
                kept.append(of_second.copy())
        begun = max(0, first - self._border)
        self._show.append(show[-begun % self._every_show :: self._every_show].copy())

    def result(self) -> Thinned:
        """Return what was kept."""
        countdown = tuple(np.concatenate(kept) for kept in self._countdown if kept)
        return Thinned(np.concatenate(self._standby), np.concatenate(self._show), countdown)


def _minute_starts(show: CircuitShow) -> list[int]:
    """Return the first frame of each minute of the countdown; the first may be no whole minute."""
    minutes = -(-show.standby_frames * show.frame_ms // 60_000)
    return [max(0, show.standby_frames - left * 60_000 // show.frame_ms) for left in range(minutes, 0, -1)]
