"""How many processor cycles each part of a bit lasts on the data line."""

from __future__ import annotations

import itertools
from collections.abc import Callable
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
_BRANCH_WORDS = 64
"""How far back a branch reaches (AVR instruction set manual). [flash word]"""


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
    return _nearest(timing, clock, tolerance, is_relaxed) or _nearest(timing, clock, tolerance, _is_tight)


def _nearest(
    timing: LineTiming, clock: float, tolerance: float, can_be_sent: Callable[[BitCycles], bool]
) -> BitCycles | None:
    best: tuple[float, int] | None = None
    chosen = None
    one_lows = _fitting(timing.one_low, clock, tolerance)
    zero_highs, one_highs, zero_lows = (
        _fitting(window, clock, tolerance) for window in (timing.zero_high, timing.one_high, timing.zero_low)
    )
    for zero_high in zero_highs:
        for one_high in one_highs:
            for zero_low in zero_lows:
                bit = BitCycles(zero_high, one_high, zero_high + zero_low)
                if bit.one_low not in one_lows or not can_be_sent(bit):
                    continue
                rank = (round(_distance(bit, timing, clock), 24), bit.period)
                if best is None or rank < best:
                    best, chosen = rank, bit
    return chosen


def is_relaxed(bit: BitCycles) -> bool:
    """Return whether the sender has time to count with one instruction and to jump back from afar."""
    return (
        bit.zero_high >= LEAST_ZERO_HIGH
        and bit.one_high - bit.zero_high >= LEAST_ONE_MORE
        and bit.one_low >= LEAST_ONE_LOW
    )


def _is_tight(bit: BitCycles) -> bool:
    return tight_last_bit(bit) is not None


def tight_last_bit(bit: BitCycles) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]] | None:
    """Return where the tight sender does its work in the last bit of a byte, or ``None`` when it can't.

    The three gaps are before a zero falls, between the falls of a zero and a one, and after a one has fallen.
    The work: count "down" by one (1 cycle) and "borrow" from the upper byte (1), in this order; "load" the
    next byte (2), after the test of the last bit. The branch back takes the last two cycles, and reaches
    64 words at most.
    """
    gaps = (bit.zero_high - LEAST_ZERO_HIGH, bit.one_high - bit.zero_high - 1, bit.one_low - 3)
    if min(gaps) < 0 or sum(gaps) < 4 or 7 * _words(bit) + 8 + sum(gaps) - 4 > _BRANCH_WORDS:
        return None
    for down, borrow, load in itertools.product(range(3), range(3), (1, 2)):
        left = list(gaps)
        left[down] -= 1
        left[borrow] -= 1
        left[load] -= 2
        if down <= borrow and min(left) >= 0:
            order = (("down", down), ("borrow", borrow), ("load", load))
            first, second, third = (tuple(name for name, gap in order if gap == place) for place in range(3))
            return first, second, third
    return None


def _words(bit: BitCycles) -> int:
    """Return the flash words of a bit that isn't the last: two cycles of pause take one."""
    pauses = (bit.zero_high - LEAST_ZERO_HIGH, bit.one_high - bit.zero_high - 1, bit.one_low - 1)
    return 4 + sum((pause + 1) // 2 for pause in pauses)


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
