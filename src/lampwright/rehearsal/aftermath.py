"""Holds what a chip sent around a fault against the show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.chip import Frames
from lampwright.rehearsal.breaking import Damage
from lampwright.rehearsal.faults import LAG_TOLERANCE_FRAMES, Outcome
from lampwright.rehearsal.places import Mark, MeantFrames
from lampwright.show import CircuitShow

SEARCH_FRAMES = 100
"""How far from its true place a show that went astray is looked for."""

JITTER_CYCLES = 1000
"""A frame begins within so many cycles of its time. [cycle]"""


@dataclass(frozen=True)
class Wanted:
    """What may rightly come of a fault."""

    outcomes: frozenset[Outcome]
    minutes: tuple[int, ...]
    """Frames that begin a full minute to go on with; empty where none may."""
    tolerance: int
    """How far from its place the show may go on. [frame]"""


@dataclass(frozen=True)
class Place:
    """Where the show went on."""

    outcome: Outcome
    lag: int
    """Behind (positive) or ahead, where it went on near its place. [frame]"""
    n_wrong: int


def tolerance_after(n_reset: int) -> int:
    """Return how far from its place a show may go on: half a frame more for each further reset. [frame]"""
    return LAG_TOLERANCE_FRAMES + n_reset // 2


class Aftermath:
    """One circuit's frames by the undisturbed clock: frame 0 at cycle ``first``, one each ``period``."""

    def __init__(self, show: CircuitShow, meant: MeantFrames, first: int, period: int) -> None:
        self.meant, self.first, self.period = meant, first, period
        self.n_pixel = show.n_pixel
        self.run_bytes = [3 * run.n_pixel for run in show.layout.runs]
        self.run_starts = [3 * run.first for run in show.layout.runs]

    def number_at(self, cycle: int) -> int:
        """Return the frame that should be on the lines at a cycle."""
        return (cycle - self.first + JITTER_CYCLES) // self.period

    def broken_off(self, frames: Frames, at: int, n_before: NDArray[np.int64]) -> tuple[int, bool]:
        """Look at what was on the lines at the fault; return how many frames are wrong, and whether one was cut.

        ``n_before`` (n_line,) are the frames that each line had sent when last looked at.
        """
        n_wrong, is_cut = 0, False
        n_sent = n_before.copy()
        for index in np.flatnonzero(frames.start_cycle <= at):
            n_sent[int(frames.line[index])] += 1
            is_whole, is_right = self._compare(frames, int(index), at, 0)
            is_cut |= not is_whole
            n_wrong += not is_right
        return n_wrong, is_cut or len(set(n_sent.tolist())) > 1

    def between(self, frames: Frames, damage: Damage) -> tuple[int, list[int]]:
        """Look at frames between the first reset and the last; return how many are wrong, and when whole ones ended."""
        n_wrong, ends = 0, []
        is_between = (frames.start_cycle > damage.resets[0]) & (frames.start_cycle <= damage.resets[-1])
        for index in np.flatnonzero(is_between):
            begun = int(frames.start_cycle[index])
            n_reset = sum(reset < begun for reset in damage.resets)
            reset = next(reset for reset in damage.resets if reset >= begun)
            is_whole, is_right = self._compare(frames, int(index), reset, tolerance_after(n_reset))
            n_wrong += not is_right
            if is_whole and frames.line[index] == len(self.run_bytes) - 1:
                ends.append(int(frames.end_cycle[index]))
        return n_wrong, ends

    def _compare(self, frames: Frames, index: int, reset: int, tolerance: int) -> tuple[bool, bool]:
        """Return whether a frame was sent whole before a reset, and whether it is the show's as far as it goes."""
        line, n_bit = int(frames.line[index]), int(frames.n_bit[index])
        n_byte = self.run_bytes[line]
        is_whole = n_bit == 8 * n_byte and frames.end_cycle[index] < reset
        if not is_whole:
            # a bit that was high at the fault may have become another one
            n_byte = min(n_byte, max(0, n_bit - 1) // 8)
        start = self.run_starts[line]
        number = self.number_at(int(frames.start_cycle[index]))
        where = slice(start, start + n_byte)
        return is_whole, self.meant.begins_with(number, tolerance, where, frames.data[index, :n_byte])

    def whole_frames(
        self, frames: Frames, at: int, n_wanted: int
    ) -> tuple[NDArray[np.int64], NDArray[np.int64], list[Mark | None]]:
        """Return begin and end [cycle] of the first frames after the fault, and a hash of their bytes."""
        by_run = [
            np.flatnonzero((frames.line == line) & (frames.start_cycle > at)) for line in range(len(self.run_bytes))
        ]
        count = min(n_wanted, *(len(found) for found in by_run)) if by_run else 0
        sent = np.zeros((count, 3 * self.n_pixel), np.uint8)
        is_whole = np.ones(count, dtype=bool)
        ends = np.zeros(count, np.int64)
        for found, start, n_byte in zip(by_run, self.run_starts, self.run_bytes, strict=True):
            rows = found[:count]
            width = min(n_byte, frames.data.shape[1])
            sent[:, start : start + width] = frames.data[rows, :width]
            is_whole &= frames.n_bit[rows] == 8 * n_byte
            ends = np.maximum(ends, frames.end_cycle[rows])
        marks = [hash(row.tobytes()) if whole else None for row, whole in zip(sent, is_whole, strict=True)]
        return frames.start_cycle[by_run[0][:count]], ends, marks

    def place(self, starts: NDArray[np.int64], marks: Sequence[Mark | None], wanted: Wanted) -> Place:
        """Return where in the show the frames after the fault are: where they should be, if they may be there."""
        if not len(starts):
            return Place(Outcome.SILENT, 0, 0)
        true = self.number_at(int(starts[0]))
        later = np.rint((starts - starts[0]) / self.period).astype(np.int64).tolist()

        def is_at(number: int) -> bool:
            return self.meant.n_wrong(number, later, marks) == 0

        near = sorted(range(-wanted.tolerance, wanted.tolerance + 1), key=abs)
        found = [
            *(Place(Outcome.STARTED_ANEW, 0, 0) for _ in range(1) if is_at(0)),
            *(Place(Outcome.LAST_MINUTE, 0, 0) for minute in wanted.minutes if minute and is_at(minute)),
            *(Place(Outcome.RESUMED, lag, 0) for lag in near if is_at(true - lag)),
        ]
        if found:
            return next((place for place in found if place.outcome in wanted.outcomes), found[-1])
        for lag in sorted(range(-SEARCH_FRAMES, SEARCH_FRAMES + 1), key=abs):
            if is_at(true - lag):
                return Place(Outcome.ELSEWHERE, lag, 0)
        numbers = (0, *wanted.minutes, *(true - lag for lag in near))
        return Place(Outcome.WRONG_FRAMES, 0, min(self.meant.n_wrong(number, later, marks) for number in numbers))
