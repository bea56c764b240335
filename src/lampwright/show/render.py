"""Draws frames by the rules of :mod:`lampwright.show.model`, blocks of frames at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.piece.model import Ending
from lampwright.show.model import CircuitShow, CueProgram

NOT_LIMITED = 256
"""The limiter's scale of a frame that it leaves alone."""


@dataclass(frozen=True)
class Block:
    """Frames ``first`` to ``first + n_frame - 1``, counted from power-on."""

    first: int
    codes: NDArray[np.uint8]  # (n_frame, n_pixel, 3) red, green, blue as sent
    load: NDArray[np.int64]  # (n_frame,) what the looks ask for, in the limiter's unit
    scale: NDArray[np.int64]  # (n_frame,) the limiter's, in 256ths


def frames(show: CircuitShow, first: int, count: int) -> NDArray[np.uint8]:
    """Return codes (count, n_pixel, 3), red, green, blue, of ``count`` frames from ``first`` on."""
    return render(show, first, count).codes


def blocks(show: CircuitShow, first: int, count: int, size: int = 1000) -> Iterator[Block]:
    """Yield the same frames in blocks of at most ``size``, so that memory stays bounded."""
    for start in range(first, first + count, size):
        yield render(show, start, min(size, first + count - start))


def line_bytes(show: CircuitShow, codes: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return codes in the order of the line, (n_frame, 3 * n_pixel)."""
    return codes[:, :, list(show.channel_order)].reshape(len(codes), -1)


def render(show: CircuitShow, first: int, count: int) -> Block:
    """Return ``count`` frames from ``first`` on, limited."""
    return limit(show, first, _unlimited(show, np.arange(first, first + count, dtype=np.int64)))


def frames_at(show: CircuitShow, numbers: Sequence[int] | NDArray[np.int64]) -> NDArray[np.uint8]:
    """Return codes (n_frame, n_pixel, 3), red, green, blue as sent, of these frames, in any order."""
    return limit(show, 0, _unlimited(show, np.asarray(numbers, dtype=np.int64))).codes


def _unlimited(show: CircuitShow, number: NDArray[np.int64]) -> NDArray[np.uint8]:
    codes = np.zeros((len(number), show.n_pixel, 3), dtype=np.uint8)
    waiting = number < show.standby_frames
    if waiting.any():
        codes[waiting] = countdown(show, number[waiting])
    if not waiting.all():
        codes[~waiting] = _pass(show, number[~waiting] - show.standby_frames)
    return codes


def countdown(show: CircuitShow, number: NDArray[np.int64]) -> NDArray[np.uint8]:
    """Return codes (n_frame, n_pixel, 3) of these frames of standby, before the limiter."""
    remaining_ms = (show.standby_frames - number) * show.frame_ms
    left = -(-remaining_ms // 60_000)
    is_on = (number * show.frame_ms) % 1000 < 500
    codes = np.zeros((len(number), show.n_pixel, 3), dtype=np.uint8)
    for minute, pixel in enumerate(show.indicator.pixels):
        codes[is_on & (left > minute), pixel] = show.indicator.code
    return codes


def _pass(show: CircuitShow, number: NDArray[np.int64]) -> NDArray[np.uint8]:
    """Return the frames of the cue sheet at frame numbers counted from the start of the show."""
    codes = np.zeros((len(number), show.n_pixel, 3), dtype=np.uint8)
    passes, within = np.divmod(number, show.pass_frames)
    if show.ending is Ending.HOLD:
        within = np.where(passes > 0, show.pass_frames - 1, within)
        passes = np.zeros_like(passes)
    playing = passes == 0 if show.ending is Ending.DARK else np.ones(len(number), dtype=bool)
    for index, cue in enumerate(show.cues):
        chosen = playing & (within >= cue.start) & (within < cue.start + cue.length)
        for is_first_pass in (True, False):
            part = chosen & ((passes == 0) == is_first_pass)
            if part.any():
                before = None if index == 0 and is_first_pass else show.cues[index - 1]
                codes[part] = _cue(cue, before, within[part] - cue.start)
    return codes


def _cue(cue: CueProgram, before: CueProgram | None, time: NDArray[np.int64]) -> NDArray[np.uint8]:
    new = cue.program.frames(time)
    fading = time < cue.fade
    if fading.any():
        weight = (time[fading] * 256 // cue.fade).reshape(-1, 1, 1)
        old = np.zeros_like(new[fading]) if before is None else before.program.frames(before.length + time[fading])
        step = new[fading].astype(np.int64) - old
        new[fading] = old + ((step * weight) >> 8)
    return new


def limit(show: CircuitShow, first: int, codes: NDArray[np.uint8]) -> Block:
    """Return frames with the limiter's say; ``codes`` (n_frame, n_pixel, 3) are changed in place."""
    # one channel at a time: several times as fast as a sum over the middle axis
    sums = np.stack([codes[:, :, channel].sum(axis=1, dtype=np.int64) for channel in range(3)], axis=1)
    load = sums @ np.array(show.limiter.weights, dtype=np.int64)
    over = load > show.limiter.cap
    scale = np.where(over, show.limiter.cap // ((load >> 8) + 1), NOT_LIMITED)
    if over.any():
        codes[over] = (codes[over].astype(np.int64) * scale[over].reshape(-1, 1, 1)) >> 8
    return Block(first, codes, load, scale)
