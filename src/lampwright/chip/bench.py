"""The bench's one interface: something that runs firmware and whose data lines can be read.

The emulated microcontroller is the first implementation; a recorded trace of a
real board can stand behind the same protocol.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum
from typing import Protocol

import numpy as np
from numpy.typing import NDArray


class ResetCause(Enum):
    """Why a chip started over."""

    POWER_ON = "power-on"
    EXTERNAL = "external"
    BROWN_OUT = "brown-out"
    WATCHDOG = "watchdog"


class BenchStoppedError(Exception):
    """The run can't go on, with the reason, the program address [byte] and the cycle."""

    def __init__(self, reason: str, address: int, cycle: int) -> None:
        self.reason = reason
        self.address = address
        self.cycle = cycle
        super().__init__(f"{reason} (at flash byte {address:#06x}, cycle {cycle})")


@dataclass(frozen=True)
class BitWindows:
    """Allowed durations of one bit's halves, (least, most). [s]"""

    zero_high: tuple[float, float]
    zero_low: tuple[float, float]
    one_high: tuple[float, float]
    one_low: tuple[float, float]
    latch: float
    """A low at least this long ends a frame. [s]"""


@dataclass(frozen=True)
class Line:
    """A data line to listen to: port letter, bit, and the windows its pixels ask for."""

    port: str
    bit: int
    windows: BitWindows


@dataclass(frozen=True)
class Frames:
    """Frames decoded from the pin edges of all lines, in the order in which they began."""

    line: NDArray[np.uint8]  # (n_frame,) which line
    start_cycle: NDArray[np.int64]  # (n_frame,) first rising edge [cycle since power-on]
    end_cycle: NDArray[np.int64]  # (n_frame,) last falling edge [cycle since power-on]
    n_bit: NDArray[np.int32]  # (n_frame,)
    data: NDArray[np.uint8]  # (n_frame, n_byte) most significant bit first, zero where short


@dataclass(frozen=True)
class TimingBreach:
    """The first bit whose half fell outside its window."""

    half: str
    """ "zero high", "zero low", "one high" or "one low"."""
    cycles: int
    frame: int
    """Counts from 0 among this line's frames."""
    bit: int
    """Counts from 0 within the frame."""


@dataclass(frozen=True)
class LineReport:
    """What a line's timing was, over the whole run so far."""

    shortest: dict[str, int]
    """Per half (see :class:`TimingBreach`), the shortest seen. [cycle]"""
    longest: dict[str, int]
    n_bit: int
    n_breach: int
    first_breach: TimingBreach | None
    shortest_latch: int
    """Shortest low between two frames. [cycle]"""
    lengths: dict[str, dict[int, int]] = field(default_factory=dict)
    """Per half, how many took each number of cycles, by rising length; empty where a bench doesn't count them.
    A bench may put all beyond some length under that length."""


class Bench(Protocol):
    """Runs firmware and decodes its data lines."""

    @property
    def clock_hz(self) -> float:
        """Nominal core clock. [Hz]"""
        ...

    @property
    def true_clock_hz(self) -> float:
        """Core clock as it is: cycles of a second that the world's clocks count. [Hz]"""
        ...

    @property
    def cycle(self) -> int:
        """Cycles since power-on; goes on through resets."""
        ...

    @property
    def longest_awake(self) -> int | None:
        """Longest stretch from waking up, or a reset, to falling asleep; ``None`` where unknown. [cycle]"""
        ...

    @property
    def eeprom_writes(self) -> tuple[int, ...] | None:
        """How often each EEPROM cell was erased or written; ``None`` where unknown."""
        ...

    @property
    def watchdog_resets(self) -> int | None:
        """How often the watchdog has reset the chip so far; ``None`` where unknown."""
        ...

    def run(self, until_cycle: int) -> None:
        """Go on until at least ``until_cycle``; raise :class:`BenchStoppedError` when that can't be."""
        ...

    def take_frames(self) -> Frames:
        """Return the frames completed since the last call, and forget them."""
        ...

    def report(self, line: int) -> LineReport:
        """Return the timing figures of one line."""
        ...

    def reset(self, cause: ResetCause, held: float = 0.0) -> None:
        """Reset the chip now, for this cause, and hold it so many seconds; RAM is kept unless it is a power-on."""
        ...

    def hang(self) -> None:
        """Make the core spin on the spot, as after a fault, until something resets it."""
        ...
