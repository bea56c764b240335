"""Screens the whole show for general and red flashes, as a viewer stands before the piece.

A screening, and no medical or legal clearance. Flashes are found for each pixel
(:mod:`lampwright.show.flash_changes`) and counted in every second, wherever it begins. A change is half
a flash, so that more than three flashes are seven changes. Three things are counted:

* each pixel's own flashes;
* flashes of a field of view: moments at which pixels that together exceed the exempt area grow brighter,
  or darker, at once. Two circuits out of step add up here;
* flashes of the piece: moments at which more than a quarter of all pixels do so, whatever their area. Bright
  points in the dark are outside the definition, and its exempt area alone would let any thin strip pass.

More than three of a field, or of pixels that together exceed the exempt area in one field, fail; more than
three of any other kind call for a warning.

Source
------
Web Content Accessibility Guidelines (WCAG) 2.2, W3C, "general flash and red flash thresholds". A quarter:
the share of the screen in Recommendation ITU-R BT.1702, by an article on it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lampwright.piece.model import ShowSheet
from lampwright.show.flash_changes import ChangeFinder, Changes, join_changes, light_of
from lampwright.show.flash_view import FREE_AREA, View
from lampwright.show.model import CircuitShow

MOST_FLASHES = 3
"""In any one second. (WCAG 2.2)"""

MOST_CHANGES = 2 * MOST_FLASHES

QUARTER = 0.25
"""Share of the pixels that make a flash of the whole piece when they change together. (ITU-R BT.1702)"""

TOGETHER_MS = 100
"""Changes within this time are one change of many pixels. (our choice) [ms]"""

ENOUGH = 1 + 1e-5
"""Sum of weights above which a group has changed as one, rounding set aside."""

CHUNK_FRAMES = 500
"""Frames that are laid out in full at once."""

LEAD_IN_SECONDS = 3
"""A stretch of the show is watched from so much earlier on: one second to count back over, two to learn
which way each pixel went last. One that hasn't moved in those counts its next change whichever
way it goes: at worst half a flash too many."""


class Degree(IntEnum):
    """How a second is judged."""

    FEW = 0
    SMALL = 1
    """More than three flashes, but within the exempt area."""
    LARGE = 2


@dataclass(frozen=True)
class FlashSecond:
    """One second of the show, and how it flashes.

    ``pixels`` are those that flash: each more than three times, or where none does so alone, all
    that change. ``start`` is their first change in this second, in frames since power-on.
    """

    degree: Degree
    flashes: float
    start: int
    pixels: NDArray[np.int64]


@dataclass(frozen=True)
class FlashKind:
    """General or red flashes: the worst second, and the first one of the same degree."""

    worst: FlashSecond
    first: FlashSecond


@dataclass(frozen=True)
class Flashing:
    """What was seen of a show, or of a stretch of it."""

    general: FlashKind
    red: FlashKind


def lead_in_frames(frame_ms: int) -> int:
    """Return how many frames before a stretch have to be watched too."""
    return -(-LEAD_IN_SECONDS * 1000 // frame_ms)


class Screening:
    """Watches one stretch of a show, frame ``first`` to its end, block after block.

    Memory is bounded by the changes of the stretch.
    """

    def __init__(self, shows: Sequence[CircuitShow], sheet: ShowSheet, view: View, first: int) -> None:
        self._frame_ms = shows[0].frame_ms
        self._view = view
        self._first = first
        self.start = max(0, first - lead_in_frames(self._frame_ms))
        """The frame to begin watching from."""
        lights = [light_of(show.layout.circuit.strip, sheet) for show in shows]
        self._finder = ChangeFinder(lights, [show.n_pixel for show in shows], is_from_dark=self.start == 0)
        self._seen: list[tuple[Changes, Changes]] = []

    def follow(self, codes: Sequence[NDArray[np.uint8]]) -> None:
        """Watch the next frames: codes (n_frame, n_pixel, 3) of each circuit."""
        self._seen.append(self._finder.follow(codes))

    def result(self) -> Flashing:
        """Return the worst seconds that end in this stretch."""
        general, red = (join_changes(parts) for parts in zip(*self._seen, strict=True))
        return Flashing(self._judge(general), self._judge(red))

    def _judge(self, changes: Changes) -> FlashKind:
        """Judge every second that ends with a change: no second holds more than one of those."""
        counter = FlashCounter(changes, self._view, self._frame_ms)
        ends, counts, degrees = counter.judge()
        is_own = ends >= self._first - self.start
        if not is_own.any():
            nothing = FlashSecond(Degree.FEW, 0.0, self._first, np.empty(0, dtype=np.int64))
            return FlashKind(nothing, nothing)
        ends, counts, degrees = ends[is_own], counts[is_own], degrees[is_own]
        worst = int(np.lexsort((-ends, counts, degrees))[-1])  # the earliest of the worst

        def second(index: int) -> FlashSecond:
            pixels, start = counter.flashing_pixels(int(ends[index]))
            return FlashSecond(Degree(int(degrees[index])), float(counts[index]) / 2, self.start + start, pixels)

        return FlashKind(second(worst), second(int(np.argmax(degrees == degrees[worst]))))


class FlashCounter:
    """Counts changes in every second, wherever it ends."""

    def __init__(self, changes: Changes, view: View, frame_ms: int) -> None:
        self._changes, self._view = changes, view
        self._span = -(-1000 // frame_ms)  # two frames of one second lie less than a second apart
        self._together = -(-TOGETHER_MS // frame_ms)

    def judge(self) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
        """Return each frame that changes something, the changes of the second up to it, and its degree."""
        changes = self._changes
        ends, firsts = np.unique(changes.frames, return_index=True)
        if not ends.size:
            return ends, ends, ends
        own = np.maximum.reduceat(self._own_counts(), firsts)
        quarters = np.full((1, self._view.n_pixel), 1 / (QUARTER * self._view.n_pixel), dtype=np.float32)
        piece = self._joint_counts(quarters, ends)
        field = self._joint_counts(self._view.crowded / np.float32(FREE_AREA), ends)
        counts = np.max([own, piece, field], axis=0)
        degrees = np.where(counts > MOST_CHANGES, Degree.SMALL, Degree.FEW).astype(np.int64)
        is_large = (field > MOST_CHANGES) | self._exceed_a_field(ends, own)
        return ends, counts, np.where(is_large, int(Degree.LARGE), degrees)

    def flashing_pixels(self, end: int) -> tuple[NDArray[np.int64], int]:
        """Return the pixels that flash in the second up to ``end``, and the frame of their first change.

        They are those that flash too often, or where none does so alone, all that change.
        """
        within = self._second(end)
        pixels, counts = np.unique(self._changes.pixels[within], return_counts=True)
        chosen = pixels[counts > MOST_CHANGES] if counts.max() > MOST_CHANGES else pixels
        start = self._changes.frames[within][np.isin(self._changes.pixels[within], chosen)][0]
        return chosen, int(start)

    def _second(self, end: int) -> slice:
        return slice(*np.searchsorted(self._changes.frames, [end - self._span + 1, end + 1]))

    def _own_counts(self) -> NDArray[np.int64]:
        """Return for each change how often its pixel has changed in the second up to it."""
        # by pixel, then by time, with more than a second between the last of one and the first of the next
        stride = int(self._changes.frames[-1]) + self._span + 1
        key = self._changes.pixels * stride + self._changes.frames
        order = np.argsort(key)
        place = np.empty_like(order)
        place[order] = np.arange(len(order))
        return np.asarray(place + 1 - np.searchsorted(key[order], key - self._span, side="right"))

    def _joint_counts(self, weights: NDArray[np.float32], ends: NDArray[np.int64]) -> NDArray[np.int64]:
        """Return how often a group of pixels has changed as one in the second up to each of ``ends``: the most of all.

        ``weights`` (n_group, n_pixel) are above 1 in sum where enough of a group changes at once.
        """
        joint = np.zeros((int(ends[-1]) + 1, len(weights)), dtype=np.int16)
        if not len(weights):
            return np.zeros_like(ends)
        for direction in (-1, 1):
            recent = _sums_over(self._amounts(weights, len(joint), direction), self._together)
            next_free = np.zeros(len(weights), dtype=np.int64)
            for frame in np.flatnonzero((recent > ENOUGH).any(axis=1)).tolist():
                counted = (recent[frame] > ENOUGH) & (frame >= next_free)
                joint[frame, counted] += 1
                next_free[counted] = frame + self._together
        return np.asarray(_sums_over(joint, self._span)[ends].max(axis=1), dtype=np.int64)

    def _amounts(self, weights: NDArray[np.float32], n_frame: int, direction: int) -> NDArray[np.float64]:
        """Return the weight (n_frame, n_group) of what changes in one direction in each frame."""
        changes = self._changes
        is_this = changes.directions == direction
        frames, pixels = changes.frames[is_this], changes.pixels[is_this]
        if len(weights) == 1:
            return np.bincount(frames, weights[0, pixels], n_frame).astype(np.float64)[:, None]
        amounts = np.zeros((n_frame, len(weights)))
        for first in range(0, n_frame, CHUNK_FRAMES):
            part = slice(*np.searchsorted(frames, [first, first + CHUNK_FRAMES]))
            if part.start < part.stop:
                changed = np.zeros((min(CHUNK_FRAMES, n_frame - first), self._view.n_pixel), dtype=np.float32)
                changed[frames[part] - first, pixels[part]] = 1
                amounts[first : first + CHUNK_FRAMES] = changed @ weights.T
        return amounts

    def _exceed_a_field(self, ends: NDArray[np.int64], own: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Return whether pixels that each flash too often exceed the exempt area in one field together."""
        result = np.zeros(len(ends), dtype=bool)
        doubtful = np.flatnonzero(own > MOST_CHANGES) if len(self._view.crowded) else np.empty(0, dtype=np.int64)
        for first in range(0, len(doubtful), CHUNK_FRAMES):
            those = doubtful[first : first + CHUNK_FRAMES]
            seconds = [self._changes.pixels[self._second(end)] for end in ends[those].tolist()]
            counts = np.stack([np.bincount(pixels, minlength=self._view.n_pixel) for pixels in seconds])
            areas = (counts > MOST_CHANGES).astype(np.float32) @ self._view.crowded.T
            result[those] = (areas > FREE_AREA).any(axis=1)
        return result


def _sums_over(numbers: NDArray[Any], span: int) -> NDArray[Any]:
    """Return the sum over each row and the ``span`` - 1 before it."""
    total = np.cumsum(np.concatenate([np.zeros_like(numbers[:1]).repeat(span, axis=0), numbers]), axis=0)
    return np.asarray(total[span:] - total[:-span])


def gather_flashing(stretches: Iterable[Flashing]) -> Flashing:
    """Return what was seen of a whole show from its stretches, in order."""
    seen = list(stretches)
    return Flashing(_gather([each.general for each in seen]), _gather([each.red for each in seen]))


def _gather(kinds: Sequence[FlashKind]) -> FlashKind:
    worst = max((kind.worst for kind in kinds), key=lambda second: (second.degree, second.flashes))  # the earliest
    return FlashKind(worst, next(kind.first for kind in kinds if kind.first.degree is worst.degree))
