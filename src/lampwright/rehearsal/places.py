"""Tells where in the show a chip is, by the frames that it sends."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lampwright.show import CircuitShow, line_bytes, render

ENTRY_BYTES = 8
"""Of one minute in EEPROM."""

Mark = int
"""A hash of a frame's bytes: most frames are told apart without comparing them."""


class MeantFrames:
    """What the lines should carry, drawn in blocks and kept while needed."""

    SIZE, N_KEPT = 500, 6

    def __init__(self, show: CircuitShow) -> None:
        self._show = show
        self._blocks: dict[int, tuple[NDArray[np.uint8], list[Mark]]] = {}

    def _block(self, number: int) -> tuple[NDArray[np.uint8], list[Mark]]:
        index = number // self.SIZE
        if index not in self._blocks:
            while len(self._blocks) >= self.N_KEPT:
                # faults come by rising time; the first frames are wanted after every new countdown
                del self._blocks[min((kept for kept in self._blocks if kept), default=0)]
            sent = line_bytes(self._show, render(self._show, index * self.SIZE, self.SIZE).codes)
            self._blocks[index] = sent, [hash(row.tobytes()) for row in sent]
        return self._blocks[index]

    def frame(self, number: int) -> NDArray[np.uint8]:
        """Return the bytes of one frame."""
        sent, _ = self._block(number)
        row: NDArray[np.uint8] = sent[number % self.SIZE]
        return row

    def mark(self, number: int) -> Mark:
        """Return a hash of one frame's bytes; of frames that don't exist, none that matches."""
        return self._block(number)[1][number % self.SIZE] if number >= 0 else -1

    def n_wrong(self, number: int, later: Sequence[int], marks: Sequence[Mark | None]) -> int:
        """Return how many of the frames sent, each so many periods ``later``, aren't the show's from ``number`` on."""
        return sum(self.mark(number + more) != mark for more, mark in zip(later, marks, strict=True))

    def begins_with(self, number: int, tolerance: int, where: slice, sent: NDArray[np.uint8]) -> bool:
        """Return whether ``sent`` is that part of a frame within ``tolerance`` of ``number``."""
        numbers = range(max(0, number - tolerance), number + tolerance + 1)
        return any(np.array_equal(self.frame(one)[where], sent) for one in numbers)


class Minutes:
    """The full minutes with which a show may go on after a loss of power."""

    WRITE_FRAMES = 12
    """An entry is written a byte a frame; so long the minute before may be the one that holds. [frame]"""

    def __init__(self, show: CircuitShow) -> None:
        self._frame_ms = show.frame_ms
        self._over = -(-show.goes_on_until * show.frame_ms // 60_000)

    def allowed(self, number: int) -> tuple[int, ...]:
        """Return the frames to go on with when power is lost at frame ``number``; 0 is a new countdown."""
        minutes = {max(0, one) * self._frame_ms // 60_000 for one in (number, number - self.WRITE_FRAMES)}
        return tuple(
            sorted({self._first_frame(minute) if minute < self._over else 0 for minute in minutes}, reverse=True)
        )

    def is_written_at(self, number: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Return (n_frame,) whether a minute is being written with these frames, which a byte each takes."""
        is_in_minute: NDArray[np.bool_] = number * self._frame_ms % 60_000 < ENTRY_BYTES * self._frame_ms
        minute = number * self._frame_ms // 60_000
        return is_in_minute & (minute > 0) & (minute < self._over)

    def _first_frame(self, minute: int) -> int:
        return -(-minute * 60_000 // self._frame_ms)
