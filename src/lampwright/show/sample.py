"""A few frames that stand for a whole show: enough for an estimate, in a thousandth of the time.

Looks are pure functions of time, so any moment can be drawn at once. The countdown has few states, all of which are
drawn; of each program some moments are. Fades are left out: what they draw lies between their two looks.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.piece.model import Ending
from lampwright.show.model import CircuitShow
from lampwright.show.render import Block, countdown, limit

MOMENTS = 48
"""Of each program that are drawn. (our choice)"""


@dataclass(frozen=True)
class Sample:
    """Frames of a show, and for which of its frames each stands."""

    block: Block
    stands_for: NDArray[np.int64]  # (n_frame,) index into the block, by frame since power-on


def sample(show: CircuitShow, n_frame: int) -> Sample:
    """Return a sample of the first ``n_frame`` frames of a show."""
    number = np.arange(min(n_frame, show.standby_frames))
    states = (-(-(show.standby_frames - number) * show.frame_ms // 60_000)) * 2 + (number * show.frame_ms % 1000 < 500)
    _, firsts, stands_for = np.unique(states, return_index=True, return_inverse=True)
    parts = [countdown(show, firsts)] if number.size else []
    n_drawn = len(firsts)
    one_pass = np.zeros(show.pass_frames, np.int64)
    for program in dict.fromkeys(cue.program for cue in show.cues):
        cues = [cue for cue in show.cues if cue.program is program]
        times = np.unique(np.linspace(0, max(cue.length for cue in cues) - 1, MOMENTS).astype(np.int64))
        parts.append(program.frames(times))
        for cue in cues:
            nearest = np.searchsorted(times, np.arange(cue.length), "right") - 1
            one_pass[cue.start : cue.start + cue.length] = n_drawn + nearest
        n_drawn += len(times)
    playing = np.arange(n_frame - number.size)
    within = np.minimum(playing, show.pass_frames - 1) if show.ending is Ending.HOLD else playing % show.pass_frames
    codes = np.concatenate(parts)
    return Sample(limit(show, 0, codes), np.concatenate([stands_for.reshape(-1), one_pass[within]]))
