"""What it takes for circuits out of step to show: how far two of them may be apart before a look loses its unison.

Of each cue and each two neighbouring circuits the brightness of the whole circuit is followed, one against the other at
every lag. Where the two go together at some lag (in unison, or one behind the other as a wave goes), the lag may
change by so much until half of that is lost. Where they never go together, nobody can tell that they are apart.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.show.model import CircuitShow

LONGEST = 600.0  # of each cue, from its fade on [s]
MOST_LAG = 30.0  # [s]
STEP = 0.2  # between samples [s]

GOES_TOGETHER = 0.7
"""Correlation from which two circuits count as going together (our choice). [1]"""

STILL = 0.01
"""A circuit whose brightness stays within this share of its mean stands still (our choice). [1]"""


@dataclass(frozen=True)
class Unison:
    """A cue, and how far circuits may be apart in it."""

    cue: int
    """Counts from 0."""
    apart: float | None
    """From this far apart on half of what goes together is lost; ``None``: circuits don't go together anyway. [s]"""


def unison(shows: Sequence[CircuitShow]) -> tuple[Unison, ...]:
    """Return for each cue how far apart its circuits may run; neighbours follow each other in the file."""
    found = []
    for number, cue in enumerate(shows[0].cues):
        frame = shows[0].frame_ms / 1e3
        step = max(1, round(STEP / frame))
        times = np.arange(cue.fade, min(cue.length, cue.fade + round(LONGEST / frame)), step, dtype=np.int64)
        levels = [_levels(show, number, times) for show in shows]
        most = max(1, round(MOST_LAG / (step * frame)))
        pairs = [_allowed(one, other, most) for one, other in itertools.pairwise(levels)]
        linked = [each for each in pairs if each is not None]
        found.append(Unison(number, min(linked) * step * frame if linked else None))
    return tuple(found)


def _levels(show: CircuitShow, cue: int, times: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return the circuit's brightness, mean code of its pixels, (n_time,)."""
    codes = show.cues[cue].program.frames(times)
    return np.asarray(codes.reshape(len(times), -1).mean(axis=1), dtype=np.float64)


def _allowed(one: NDArray[np.float64], other: NDArray[np.float64], most: int) -> int | None:
    """Return by how many samples the best lag of two may change until half of their correlation is lost."""
    if any(series.std() <= STILL * max(series.mean(), 1.0) for series in (one, other)):
        return None
    correlation = lagged(one, other, min(most, len(one) // 3))
    best = int(correlation.argmax())
    if correlation[best] < GOES_TOGETHER:
        return None
    half = correlation[best] / 2
    after = np.flatnonzero(correlation[best:] < half)
    before = np.flatnonzero(correlation[best::-1] < half)
    ends = [int(side[0]) for side in (after, before) if len(side)]
    return min(ends, default=None)


def lagged(one: NDArray[np.float64], other: NDArray[np.float64], most: int) -> NDArray[np.float64]:
    """Return Pearson's correlation of ``one`` with ``other`` moved by -most to most samples, (2 * most + 1,)."""
    found = []
    for lag in range(-most, most + 1):
        a, b = (one[-lag:], other[: len(other) + lag]) if lag < 0 else (one[: len(one) - lag], other[lag:])
        spread = a.std() * b.std()
        found.append(float(((a - a.mean()) * (b - b.mean())).mean() / spread) if spread > 0 else 0.0)
    return np.array(found)
