"""How many processor cycles each part of a bit lasts on the data line."""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.parts.model import LineTiming, Window
from lampwright.units import MakerError, Problem, format_quantity

LEAST_ZERO_HIGH = 2
"""Test of the bit and the instruction that ends a zero. [cycle]"""
LEAST_ONE_MORE = 5
"""From the end of a zero's high to the end of a one's: in the last bit of a byte the next byte is fetched
(2) and counted (2) there, then the line falls (1). [cycle]"""
LEAST_ONE_LOW = 4
"""From a one's fall to the next rise: the jump back (3), then the line rises (1). [cycle]"""


@dataclass(frozen=True)
class BitCycles:
    """One bit in cycles: the line rises at 0, falls at ``zero_high`` or ``one_high``, rises at ``period``."""

    zero_high: int
    one_high: int
    period: int

    @property
    def zero_low(self) -> int:
        """Low part of a zero. [cycle]"""
        return self.period - self.zero_high

    @property
    def one_low(self) -> int:
        """Low part of a one. [cycle]"""
        return self.period - self.one_high


def _fitting(window: Window, clock: float, tolerance: float) -> range:
    """Return the cycle counts that stay in the window at the slowest and the fastest clock."""
    most = window.most * clock * (1 - tolerance)
    least = window.least * clock * (1 + tolerance)
    first = next(n for n in range(int(least), int(least) + 3) if n >= least - 1e-9)
    return range(first, int(most + 1e-9) + 1)


def choose_bit_cycles(timing: LineTiming, clock: float, tolerance: float) -> BitCycles | None:
    """Return the cycles that lie nearest to a pixel's typical times, or ``None`` when none fit.

    Parameters
    ----------
    clock
        Nominal. [Hz]
    tolerance
        Worst relative error of the clock; every half stays in its window at both ends of it. [1]

    Every bit takes the same ``period``. Nearest means the least sum of the four squared
    differences; of equals, the shortest.
    """
    best: tuple[float, int] | None = None
    chosen = None
    for zero_high in _fitting(timing.zero_high, clock, tolerance):
        for one_high in _fitting(timing.one_high, clock, tolerance):
            for zero_low in _fitting(timing.zero_low, clock, tolerance):
                bit = BitCycles(zero_high, one_high, zero_high + zero_low)
                if not _can_be_sent(bit) or bit.one_low not in _fitting(timing.one_low, clock, tolerance):
                    continue
                rank = (round(_distance(bit, timing, clock), 24), bit.period)
                if best is None or rank < best:
                    best, chosen = rank, bit
    return chosen


def _can_be_sent(bit: BitCycles) -> bool:
    return (
        bit.zero_high >= LEAST_ZERO_HIGH
        and bit.one_high - bit.zero_high >= LEAST_ONE_MORE
        and bit.one_low >= LEAST_ONE_LOW
    )


def _distance(bit: BitCycles, timing: LineTiming, clock: float) -> float:
    halves = (
        (bit.zero_high, timing.zero_high),
        (bit.zero_low, timing.zero_low),
        (bit.one_high, timing.one_high),
        (bit.one_low, timing.one_low),
    )
    return sum((cycles / clock - window.typical) ** 2 for cycles, window in halves)


def bit_cycles_for(timing: LineTiming, clock: float, tolerance: float, circuit: str) -> BitCycles:
    """Return the cycles of a bit.

    Raises
    ------
    MakerError
        FIRMWARE-002, this clock can't meet the pixel's windows.
    """
    bit = choose_bit_cycles(timing, clock, tolerance)
    if bit is not None:
        return bit
    steps = range(1, 21)
    fitting = [f"{mhz} MHz" for mhz in steps if choose_bit_cycles(timing, mhz * 1e6, tolerance) is not None]
    problem = Problem(
        "FIRMWARE-002",
        f'the clock of circuit "{circuit}" can\'t meet the bit times of its pixels',
        f"{format_quantity(clock, 'frequency')}, within {format_quantity(tolerance, 'share')}",
        ", ".join(fitting) or "no clock up to 20 MHz; the clock is too inaccurate",
        "choose a board with one of these clocks" if fitting else "choose a board with a crystal",
    )
    raise MakerError([problem])
