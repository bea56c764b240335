"""Holds decoded frames against the show, bit for bit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.chip.bench import Frames
from lampwright.show import CircuitShow, line_bytes, render

BITS_PER_PIXEL = 24


@dataclass(frozen=True)
class Mismatch:
    """The first frame that differs from the show."""

    frame: int
    """Counts from power-on."""
    run: str
    pixel: int
    """Within its run."""
    sent: tuple[int, ...]
    """Red, green, blue; empty where the frame ended before this pixel."""
    meant: tuple[int, int, int]


@dataclass(frozen=True)
class SentFrames:
    """Whole frames of a circuit, all its runs joined."""

    first: int
    """Frame number of the first, counted from power-on."""
    start_cycle: NDArray[np.int64]  # (n_frame,) first edge of the first run
    end_cycle: NDArray[np.int64]  # (n_frame,) last edge of the last run
    sent_bytes: NDArray[np.uint8]  # (n_frame, 3 * n_pixel) in the order of the line
    whole: NDArray[np.bool_]  # (n_frame,) every run had the right number of bits


class FrameAssembler:
    """Joins the frames of a circuit's runs: one frame of each run makes one frame of the circuit."""

    def __init__(self, show: CircuitShow) -> None:
        self._show = show
        self._waiting: list[list[tuple[int, int, int, NDArray[np.uint8]]]] = [[] for _ in show.layout.runs]
        self._next = 0

    def add(self, frames: Frames) -> None:
        """Take frames as they came off the lines."""
        for index, line in enumerate(frames.line):
            self._waiting[int(line)].append(
                (
                    int(frames.start_cycle[index]),
                    int(frames.end_cycle[index]),
                    int(frames.n_bit[index]),
                    frames.data[index],
                )
            )

    def take(self) -> SentFrames:
        """Return the frames that every run has sent."""
        count = min(len(waiting) for waiting in self._waiting)
        runs = self._show.layout.runs
        data = np.zeros((count, 3 * self._show.n_pixel), dtype=np.uint8)
        whole = np.ones(count, dtype=bool)
        starts, ends = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64)
        for position, run in enumerate(runs):
            part = self._waiting[position][:count]
            del self._waiting[position][:count]
            first, n_byte = 3 * run.first, 3 * run.n_pixel
            for row, (start, end, n_bit, sent) in enumerate(part):
                usable = min(n_byte, len(sent))
                data[row, first : first + usable] = sent[:usable]
                whole[row] &= n_bit == run.n_pixel * BITS_PER_PIXEL
                if position == 0:
                    starts[row] = start
                ends[row] = max(ends[row], end)
        result = SentFrames(self._next, starts, ends, data, whole)
        self._next += count
        return result

    def restart(self, frame: int) -> None:
        """Forget half-sent frames, as after a reset; the next whole one counts as ``frame``."""
        for waiting in self._waiting:
            waiting.clear()
        self._next = frame


def to_codes(show: CircuitShow, sent: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return bytes of the line as codes (n_frame, n_pixel, 3), red, green, blue."""
    on_line = sent.reshape(len(sent), -1, 3)
    codes = np.empty_like(on_line)
    codes[:, :, list(show.channel_order)] = on_line
    return codes


def first_mismatch(show: CircuitShow, sent: SentFrames, codes: NDArray[np.uint8]) -> Mismatch | None:
    """Return the first frame and pixel in which what was sent is not the show's ``codes``."""
    meant = line_bytes(show, codes)
    wrong = (sent.sent_bytes != meant).any(axis=1) | ~sent.whole
    if not wrong.any():
        return None
    row = int(np.argmax(wrong))
    different = np.nonzero(sent.sent_bytes[row] != meant[row])[0]
    pixel = int(different[0]) // 3 if len(different) else show.n_pixel - 1
    run = next(r for r in reversed(show.layout.runs) if r.first <= pixel)
    colours = to_codes(show, sent.sent_bytes[row : row + 1])[0, pixel]
    return Mismatch(
        sent.first + row,
        run.run.name,
        pixel - run.first,
        tuple(int(c) for c in colours) if len(different) else (),
        (int(codes[row, pixel, 0]), int(codes[row, pixel, 1]), int(codes[row, pixel, 2])),
    )


def matching_frames(show: CircuitShow, sent: NDArray[np.uint8], around: int, reach: int) -> Iterator[int]:
    """Yield the show's frame numbers within ``reach`` of ``around`` that equal ``sent``, nearest first."""
    first = max(0, around - reach)
    block = line_bytes(show, render(show, first, around + reach - first + 1).codes)
    equal = np.nonzero((block == sent).all(axis=1))[0] + first
    yield from sorted((int(frame) for frame in equal), key=lambda frame: abs(frame - around))
