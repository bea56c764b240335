"""Reads the countdown off the decoded frames, by the clock on the wall and nothing else."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lampwright.rehearsal.compare import SentFrames
from lampwright.rehearsal.model import MinuteCount
from lampwright.show import CircuitShow


class IndicatorWatch:
    """Counts lit pixels and flashes of each minute of the standby.

    It knows nothing of the show's own rule: a minute is told by the cycles that passed since
    the first frame, a lit pixel by any code that isn't zero.
    """

    def __init__(self, show: CircuitShow, clock_hz: float) -> None:
        self._seconds = show.standby_frames * show.frame_ms / 1000
        self._clock_hz = clock_hz
        self._first: int | None = None
        self._most: dict[int, int] = {}
        self._flashes: dict[int, int] = {}
        self._was_lit = False

    def add(self, sent: SentFrames, codes: NDArray[np.uint8]) -> None:
        """Take the next frames; those after the standby are left out."""
        if len(sent.start_cycle) == 0:
            return
        if self._first is None:
            self._first = int(sent.start_cycle[0])
        # half a frame early would be the minute before: round to a thousandth of a second
        elapsed = np.round((sent.start_cycle - self._first) / self._clock_hz, 3)
        lit = (codes.max(axis=2) > 0).sum(axis=1)
        for seconds, count in zip(elapsed, lit, strict=True):
            left = self._seconds - float(seconds)
            if left <= 0:
                break
            minute = int(-(-left // 60))
            self._most[minute] = max(self._most.get(minute, 0), int(count))
            if count and not self._was_lit:
                self._flashes[minute] = self._flashes.get(minute, 0) + 1
            self._was_lit = bool(count)

    def minutes(self) -> tuple[MinuteCount, ...]:
        """Return the most pixels lit in each minute, from the first minute on."""
        return tuple(MinuteCount(minute, self._most[minute]) for minute in sorted(self._most, reverse=True))

    def flashes(self) -> tuple[int, ...]:
        """Return how often the indicator came on in each minute, from the first minute on."""
        return tuple(self._flashes.get(minute, 0) for minute in sorted(self._most, reverse=True))
