"""The frame timer, and what a reset costs."""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.firmware.bits import BitCycles
from lampwright.firmware.target import Target
from lampwright.units.errors import MakerError, Problem

_CLOCK_SELECT = {1: "1 << CS10", 8: "1 << CS11", 64: "1 << CS11 | 1 << CS10", 256: "1 << CS12"}
"""Timer 1 clock select (ATmega328P datasheet, timer/counter 1 control register B)."""
_TIMER_SIZE = 65536
BITS_PER_PIXEL = 24

WATCHDOG = 0.250
"""Nominal time to the watchdog's reset (ATmega328P datasheet, watchdog prescaler: 32K cycles of 128 kHz). [s]"""
LONGEST_FRAME_MS = 100
"""The watchdog is fed once a frame. Its oscillator is off by 10 % or more, and a frame may overrun
into the next: two frames have to pass before it bites."""
SHORTEST_FRAME_MS = 2
"""Ticks are counted in 8 bits: 255 of them must outlast the watchdog."""


@dataclass(frozen=True)
class Pacing:
    """How frames are paced on one circuit."""

    frame_ms: int
    prescaler: int
    timer_counts: int
    period_cycles: int
    """From one frame to the next. [cycle]"""
    write_cycles: int
    """Sending all pixels of all runs; calls between runs add less than 100. [cycle]"""
    startup: float
    """From a reset to the first instruction. [s]"""
    lost_to_watchdog: int
    """Frames that a watchdog reset costs at its nominal time."""

    @property
    def clock_select(self) -> str:
        """Return the prescaler's bits of TCCR1B, as C++."""
        return _CLOCK_SELECT[self.prescaler]


def pace(
    frame_ms: int, n_pixel: int, bit: BitCycles, latch: float, clock: float, target: Target, circuit: str
) -> Pacing:
    """Return the frame timer's setting and the frames that a watchdog reset costs.

    Parameters
    ----------
    n_pixel
        Of all runs, which are sent one after the other.
    latch
        Low time that ends a frame on the line. [s]
    clock
        [Hz]

    Raises
    ------
    MakerError
        FIRMWARE-003: no prescaler makes this period exactly, or the period is shorter than sending
        the pixels takes, or longer than the watchdog allows.
    """
    write_cycles = n_pixel * BITS_PER_PIXEL * bit.period
    shortest_ms = max(SHORTEST_FRAME_MS, int((write_cycles / clock + latch) * 1000) + 1)
    setting = _timer_setting(frame_ms, clock)
    if setting is None or not shortest_ms <= frame_ms <= LONGEST_FRAME_MS:
        raise MakerError([_unworkable(frame_ms, shortest_ms, clock, circuit)])
    prescaler, counts = setting
    startup = target.startup_cycles / clock
    lost = (write_cycles / clock + WATCHDOG + startup) / (frame_ms / 1000)
    return Pacing(frame_ms, prescaler, counts, prescaler * counts, write_cycles, startup, round(lost))


def _timer_setting(frame_ms: int, clock: float) -> tuple[int, int] | None:
    """Return (prescaler, counts) that make the period exactly, with the finest steps; else ``None``."""
    for prescaler in _CLOCK_SELECT:
        counts, rest = divmod(round(clock) * frame_ms, 1000 * prescaler)
        if rest == 0 and 0 < counts <= _TIMER_SIZE:
            return prescaler, counts
    return None


def _unworkable(frame_ms: int, shortest_ms: int, clock: float, circuit: str) -> Problem:
    workable = [ms for ms in range(shortest_ms, LONGEST_FRAME_MS + 1) if _timer_setting(ms, clock)]
    if not workable:
        return Problem(
            "FIRMWARE-003",
            f'no frame period works for circuit "{circuit}"',
            f"{shortest_ms} ms to send all pixels, at {clock / 1e6:g} MHz",
            f"at most {LONGEST_FRAME_MS} ms a frame",
            "split the circuit, or choose a board with another clock",
        )
    if len(workable) == LONGEST_FRAME_MS + 1 - shortest_ms:
        allowed = f"{shortest_ms} ms to {LONGEST_FRAME_MS} ms"
    else:
        nearest = sorted(workable, key=lambda ms: (abs(ms - frame_ms), ms))[:3]
        allowed = f"{shortest_ms} ms to {LONGEST_FRAME_MS} ms in whole timer steps; nearest: " + ", ".join(
            f"{ms} ms" for ms in sorted(nearest)
        )
    best = min(workable, key=lambda ms: (abs(ms - frame_ms), ms))
    return Problem(
        "FIRMWARE-003",
        f'circuit "{circuit}" can\'t keep this frame period',
        f"{frame_ms} ms",
        allowed,
        f'write rate = "{1000 / best:.6g} /s", which is {best} ms a frame',
    )
