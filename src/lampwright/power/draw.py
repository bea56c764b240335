"""Current of every frame of a show, gathered block by block, and what it comes to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.model import CircuitLayout
from lampwright.piece.model import Ending
from lampwright.show.compile import CURRENT_UNIT
from lampwright.show.model import CircuitShow
from lampwright.show.render import NOT_LIMITED, Block


def idle_current(layout: CircuitLayout) -> float:
    """Return the draw with every pixel dark: board + pixels × quiescent current. [A]"""
    circuit = layout.circuit
    return circuit.board.current.value + layout.n_pixel * circuit.strip.quiescent_current.value


def channel_currents(layout: CircuitLayout) -> NDArray[np.float64]:
    """Return the (3,) currents of a pixel's red, green and blue when full on. [A]"""
    strip = layout.circuit.strip
    return np.array([strip.red_current.value, strip.green_current.value, strip.blue_current.value])


def n_frame_to_measure(show: CircuitShow) -> int:
    """Return how many frames hold everything that the show ever does.

    Standby, one pass, and where the show repeats the first cue's fade once more, because in
    later passes it starts from the last cue instead of from darkness.
    """
    once = show.standby_frames + show.pass_frames
    return once + show.cues[0].fade if show.ending is Ending.REPEAT else once


@dataclass(frozen=True)
class Draw:
    """Current of a circuit over its whole show.

    ``current`` and ``wanted`` are (n_frame,) float64, by frame since power-on: after the limiter and
    as the looks alone would have it. [A]
    """

    frame_period: float
    standby_frames: int
    pass_frames: int
    ending: Ending
    idle: float
    current: NDArray[np.float64]
    wanted: NDArray[np.float64]

    @property
    def peak(self) -> float:
        """Highest current of any frame. [A]"""
        return float(self.current.max())

    @property
    def peak_time(self) -> float:
        """When the peak is first reached, since power-on. [s]"""
        return int(self.current.argmax()) * self.frame_period

    @property
    def wanted_peak(self) -> float:
        """Highest current that the looks ask for. [A]"""
        return float(self.wanted.max())

    @property
    def mean_standby(self) -> float:
        """Mean current of the countdown; the idle current where there is none. [A]"""
        return float(self.current[: self.standby_frames].mean()) if self.standby_frames else self.idle

    @property
    def mean_show(self) -> float:
        """Mean current of the first pass. [A]"""
        return float(self.current[self.standby_frames :][: self.pass_frames].mean())

    @property
    def limited_share(self) -> float:
        """Share of all frames that the limiter dims. [1]"""
        return float(np.mean(self.wanted > self.current))

    @property
    def deepest_dimming(self) -> float:
        """Smallest share of its light that the limiter leaves a frame. [1]"""
        return float(np.min(self._left(), initial=1.0))

    @property
    def dimming_time(self) -> float:
        """When the limiter first dims as deep as it ever does, since power-on. [s]"""
        return int(self._left().argmin()) * self.frame_period

    def _left(self) -> NDArray[np.float64]:
        """Return the share of its light that the limiter leaves each frame, (n_frame,). [1]"""
        asked, given = self.wanted - self.idle, self.current - self.idle
        return np.divide(given, asked, out=np.ones_like(asked), where=asked > 0)


def lowest_mean(current: NDArray[np.float64], period: float, window: float) -> tuple[float, float]:
    """Return the lowest mean of a current over any stretch of this length [s], and when that starts.

    A pack that averages looks at the mean; one that restarts its timer at every flash is more
    patient than that, so the mean is the safe side. ``current`` is (n_frame,), ``period`` a frame's. [A, s]
    """
    n = min(len(current), max(1, round(window / period)))
    total = np.concatenate([[0.0], np.cumsum(current)])
    means = (total[n:] - total[:-n]) / n
    lowest = float(means.min())
    first = int(np.argmax(means <= lowest + 1e-9))  # the running sum leaves that much noise
    return lowest, first * period


@dataclass(frozen=True)
class FrameCurrents:
    """Currents of a block of frames, (n_frame,) float64: as sent, and as the looks would have it. [A]"""

    current: NDArray[np.float64]
    wanted: NDArray[np.float64]


def light_currents(layout: CircuitLayout, codes: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Return the (n_frame,) current that codes (n_frame, n_pixel, 3) draw for light, beside the idle current. [A]"""
    # one channel at a time: ten times as fast as a sum over the middle axis
    sums = np.stack([codes[:, :, c].sum(axis=1, dtype=np.uint32) for c in range(3)], axis=1)
    return np.asarray(sums @ (channel_currents(layout) / 255.0), dtype=np.float64)


def frame_currents(show: CircuitShow, block: Block) -> FrameCurrents:
    """Return the current of each frame of a block; the sent codes tell what flows."""
    light = light_currents(show.layout, block.codes)
    # The limiter's weights are rounded to 10 µA, so its load says nothing new of a frame left alone.
    asked = block.load.astype(np.float64) * (CURRENT_UNIT / 255.0)
    idle = idle_current(show.layout)
    return FrameCurrents(idle + light, idle + np.where(block.scale < NOT_LIMITED, asked, light))


def gather(show: CircuitShow, parts: Sequence[FrameCurrents]) -> Draw:
    """Return the draw of a show from its blocks, in order from power-on."""
    return Draw(
        frame_period=show.frame_ms / 1000.0,
        standby_frames=show.standby_frames,
        pass_frames=show.pass_frames,
        ending=show.ending,
        idle=idle_current(show.layout),
        current=np.concatenate([part.current for part in parts]),
        wanted=np.concatenate([part.wanted for part in parts]),
    )
