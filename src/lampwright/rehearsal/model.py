"""What a rehearsal saw, as data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.chip.bench import LineReport
from lampwright.findings.model import Finding
from lampwright.rehearsal.compare import Mismatch


@dataclass(frozen=True)
class Plan:
    """How much of the show is run, and where it is broken on purpose."""

    show_seconds: float = 330.0
    """Time of the show that is run and compared, from its start. [s]"""
    after_reset_seconds: float = 5.0
    """Time that is compared again after the injected reset. [s]"""
    is_reset_injected: bool = True


@dataclass(frozen=True)
class MinuteCount:
    """How many pixels the indicator showed while so many minutes were left."""

    minutes_left: int
    shown: int


@dataclass(frozen=True)
class Resume:
    """What happened at the injected watchdog reset."""

    hung_at: float
    """Since power-on. [s]"""
    dark_time: float
    """From the last edge before to the first frame after. [s]"""
    lag_frames: int
    """How many frames behind (positive) or ahead the show went on; true time is 0."""
    is_found: bool
    """Whether the first frame after it is any frame of the show near that time."""
    n_compared: int
    mismatch: Mismatch | None


@dataclass(frozen=True)
class Thinned:
    """Some of the decoded frames, for a picture: codes (n_kept, n_pixel, 3), red, green, blue."""

    standby: NDArray[np.uint8]
    """Of the countdown, the first pixels only, as far as the count indicator reaches."""
    show: NDArray[np.uint8]
    countdown: tuple[NDArray[np.uint8], ...] = ()
    """Every frame of the first second of each minute of the countdown, its first pixels only, each
    (n_frame, n_pixel, 3)."""


@dataclass(frozen=True)
class CircuitRehearsal:
    """One circuit's rehearsal."""

    name: str
    n_pixel: int
    n_frame: int
    """Frames decoded and compared, the ones after the reset not counted."""
    n_bit: int
    simulated_seconds: float
    first_frame_seconds: float
    """From power-on to the first edge. [s]"""
    show_start_seconds: float | None
    """From power-on to the first frame of the show. [s]"""
    shortest_interval: float
    """From frame to frame. [s]"""
    longest_interval: float
    busiest_seconds: float | None
    """Longest time the core was awake for one frame, writing and composing; ``None`` where unknown. [s]"""
    mismatch: Mismatch | None
    minutes: tuple[MinuteCount, ...]
    flashes_per_minute: tuple[int, ...]
    lines: Mapping[str, LineReport]
    """By run."""
    peak_current: float
    """Of any decoded frame. [A]"""
    resume: Resume | None
    stopped: str | None
    """Why the chip could not go on, if so."""
    thinned: Thinned
    watchdog_resets: int | None = None
    """In the undisturbed part; ``None`` where unknown."""
    most_eeprom_writes: int | None = None
    """Of any one cell, in the undisturbed part; ``None`` where unknown."""
    undisturbed_seconds: float = 0.0
    clock_trials: tuple[ClockTrial, ...] = ()
    untouched_ram: int | None = None
    """Bytes between the variables and the lowest place that the stack reached; ``None`` where unknown."""


@dataclass(frozen=True)
class ClockTrial:
    """A stretch of the show sent by a chip whose clock is wrong."""

    error: float
    """Of the clock; 0.1 is 10 % fast. [1]"""
    n_breach: int
    """Bits outside their windows."""
    n_wrong: int
    """Frames that are not the show's."""
    period: float
    """From frame to frame. [s]"""


@dataclass(frozen=True)
class Rehearsal:
    """All circuits' rehearsals and what follows from them."""

    circuits: tuple[CircuitRehearsal, ...]
    findings: tuple[Finding, ...]
    wall_seconds: float
    n_earlier: int = 0
    """Circuits whose result was there from an earlier run of the very same."""
