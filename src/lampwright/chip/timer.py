"""Timer1, in normal mode and cleared on compare with OCR1A, brought up to date when it is looked at.

Source: ATmega328P datasheet, "16-bit Timer/Counter1 with PWM" (from memory): a match sets
its flag in the timer clock after the one in which the counter equals the register, so a
period lasts OCR1A + 1 ticks; a write to TCNT1 blocks a match in the next timer clock; the
prescaler runs freely from reset.
Not modelled: the synchroniser's fraction of a cycle between core and timer.
"""

from __future__ import annotations

from lampwright.chip import state
from lampwright.chip.compiled import compiled
from lampwright.chip.registers import OCR1AH, OCR1AL, OCR1BH, OCR1BL, TIFR1, TIMSK1
from lampwright.chip.state import Bytes, ChipState, Longs

OVERFLOW, MATCH_A, MATCH_B = 1, 2, 4
"""Bits of TIFR1 and TIMSK1."""

LARGEST = 0xFFFF


@compiled
def _top(scalar: Longs, match_a: int) -> int:
    """Return the count after which the counter next starts from 0."""
    count = scalar[state.TIMER_COUNT]
    is_missed = count == match_a and scalar[state.TIMER_BLOCKED] == 1
    if scalar[state.TIMER_IS_CTC] == 1 and count <= match_a and not is_missed:
        return match_a
    return LARGEST


@compiled
def _advance(scalar: Longs, memory: Bytes, n_tick: int) -> None:
    """Count ``n_tick`` ticks on, setting the flags passed."""
    match_a = memory[OCR1AL] | memory[OCR1AH] << 8
    match_b = memory[OCR1BL] | memory[OCR1BH] << 8
    flags = 0
    while n_tick > 0:
        count = scalar[state.TIMER_COUNT]
        top = _top(scalar, match_a)
        step = min(n_tick, top - count + 1)
        first = count + scalar[state.TIMER_BLOCKED]
        scalar[state.TIMER_BLOCKED] = 0
        if first <= match_a < count + step:
            flags |= MATCH_A
        if first <= match_b < count + step:
            flags |= MATCH_B
        n_tick -= step
        if step <= top - count:
            scalar[state.TIMER_COUNT] = count + step
            continue
        scalar[state.TIMER_COUNT] = 0
        if top == LARGEST:
            flags |= OVERFLOW
        period = _top(scalar, match_a) + 1
        if n_tick > 2 * period:  # all whole periods are alike
            n_tick = period + n_tick % period
    memory[TIFR1] |= flags


@compiled
def bring_timer_up(chip: ChipState, now: int) -> None:
    """Bring Timer1's count and flags to what they are at cycle ``now``."""
    scalar = chip.scalar
    divider = scalar[state.TIMER_DIVIDER]
    if divider > 0 and scalar[state.SLEEPING] != state.POWER_DOWN:
        origin = scalar[state.PRESCALER_ORIGIN]
        n_tick = (now - origin) // divider - (scalar[state.TIMER_SYNC] - origin) // divider
        if n_tick > 0:
            _advance(scalar, chip.memory, n_tick)
    scalar[state.TIMER_SYNC] = now


@compiled
def next_timer_flag(chip: ChipState) -> int:
    """Return the cycle at which the next enabled flag of Timer1 will be set, or NEVER.

    The timer must have been brought up to date.
    """
    scalar, memory = chip.scalar, chip.memory
    enabled = memory[TIMSK1] & ~memory[TIFR1]
    divider = scalar[state.TIMER_DIVIDER]
    if enabled == 0 or divider == 0 or scalar[state.SLEEPING] == state.POWER_DOWN:
        return state.NEVER
    match_a = memory[OCR1AL] | memory[OCR1AH] << 8
    match_b = memory[OCR1BL] | memory[OCR1BH] << 8
    count = scalar[state.TIMER_COUNT]
    top = _top(scalar, match_a)
    second_top = match_a if scalar[state.TIMER_IS_CTC] == 1 else LARGEST
    n_tick = state.NEVER
    for flag, match in ((MATCH_A, match_a), (MATCH_B, match_b), (OVERFLOW, LARGEST)):
        if enabled & flag:
            if count + scalar[state.TIMER_BLOCKED] <= match <= top:
                n_tick = min(n_tick, match - count + 1)
            elif match <= second_top:
                n_tick = min(n_tick, top - count + 1 + match + 1)
    if n_tick == state.NEVER:
        return state.NEVER
    origin = scalar[state.PRESCALER_ORIGIN]
    return int(origin + ((scalar[state.TIMER_SYNC] - origin) // divider + n_tick) * divider)
