"""Timer0 and Timer1, in normal mode and cleared on compare match A, brought up to date when they are looked at.

Source: ATmega328P datasheet, "8-bit Timer/Counter0 with PWM" and "16-bit Timer/Counter1 with PWM"
(from memory): a match sets its flag in the timer clock after the one in which the counter equals the
register, so a period lasts OCR1A + 1 ticks; a write to the count blocks a match in the next timer
clock; the prescaler runs freely from reset, one for both timers.
Not modelled: the synchroniser's fraction of a cycle between core and timer.

A timer is named by where its fields are in ``scalar``: ``state.TIMER0`` or ``state.TIMER1``.
"""

from __future__ import annotations

from lampwright.chip import state
from lampwright.chip.compiled import as_argument, compiled, inlined
from lampwright.chip.registers import OCR0A, OCR0B, OCR1AH, OCR1AL, OCR1BH, OCR1BL, TIFR0, TIFR1, TIMSK0, TIMSK1
from lampwright.chip.state import Bytes, ChipState, Longs

OVERFLOW, MATCH_A, MATCH_B = 1, 2, 4
"""Bits of TIFR0, TIFR1, TIMSK0 and TIMSK1."""

TIMER0, TIMER1 = as_argument(state.TIMER0), as_argument(state.TIMER1)


@inlined
def _largest(timer: int) -> int:
    return 0xFF if timer == state.TIMER0 else 0xFFFF


@inlined
def _match_a(memory: Bytes, timer: int) -> int:
    return int(memory[OCR0A] if timer == state.TIMER0 else memory[OCR1AL] | memory[OCR1AH] << 8)


@inlined
def _match_b(memory: Bytes, timer: int) -> int:
    return int(memory[OCR0B] if timer == state.TIMER0 else memory[OCR1BL] | memory[OCR1BH] << 8)


@compiled
def _top(scalar: Longs, timer: int, match_a: int) -> int:
    """Return the count after which the counter next starts from 0."""
    count = scalar[timer + state.TIMER_COUNT]
    is_missed = count == match_a and scalar[timer + state.TIMER_BLOCKED] == 1
    if scalar[timer + state.TIMER_IS_CTC] == 1 and count <= match_a and not is_missed:
        return match_a
    return _largest(timer)


@compiled
def _advance(scalar: Longs, memory: Bytes, timer: int, n_tick: int) -> None:
    """Count ``n_tick`` ticks on, setting the flags passed."""
    match_a, match_b = _match_a(memory, timer), _match_b(memory, timer)
    flags = 0
    while n_tick > 0:
        count = scalar[timer + state.TIMER_COUNT]
        top = _top(scalar, timer, match_a)
        step = min(n_tick, top - count + 1)
        first = count + scalar[timer + state.TIMER_BLOCKED]
        scalar[timer + state.TIMER_BLOCKED] = 0
        if first <= match_a < count + step:
            flags |= MATCH_A
        if first <= match_b < count + step:
            flags |= MATCH_B
        if timer == state.TIMER1 and first == 0:  # OCR1C stays 0
            flags |= scalar[state.MATCH_C_FLAG]
        n_tick -= step
        if step <= top - count:
            scalar[timer + state.TIMER_COUNT] = count + step
            continue
        scalar[timer + state.TIMER_COUNT] = 0
        if top == _largest(timer):
            flags |= OVERFLOW
        period = _top(scalar, timer, match_a) + 1
        if n_tick > 2 * period:  # all whole periods are alike
            n_tick = period + n_tick % period
    memory[TIFR0 if timer == state.TIMER0 else TIFR1] |= flags


@compiled
def bring_timer_up(chip: ChipState, timer: int, now: int) -> None:
    """Bring a timer's count and flags to what they are at cycle ``now``."""
    scalar = chip.scalar
    divider = scalar[timer + state.TIMER_DIVIDER]
    if divider > 0 and scalar[state.SLEEPING] <= state.IDLE:
        origin = scalar[state.PRESCALER_ORIGIN]
        n_tick = (now - origin) // divider - (scalar[timer + state.TIMER_SYNC] - origin) // divider
        if n_tick > 0:
            _advance(scalar, chip.memory, timer, n_tick)
    scalar[timer + state.TIMER_SYNC] = now


@compiled
def bring_timers_up(chip: ChipState, now: int) -> None:
    """Bring both timers' counts and flags to what they are at cycle ``now``."""
    bring_timer_up(chip, TIMER0, now)
    bring_timer_up(chip, TIMER1, now)


@compiled
def next_timer_flag(chip: ChipState, timer: int) -> int:
    """Return the cycle at which the next enabled flag of a timer will be set, or NEVER.

    The timer must have been brought up to date.
    """
    scalar, memory = chip.scalar, chip.memory
    enabled = memory[TIMSK0] & ~memory[TIFR0] if timer == state.TIMER0 else memory[TIMSK1] & ~memory[TIFR1]
    divider = scalar[timer + state.TIMER_DIVIDER]
    if enabled == 0 or divider == 0 or scalar[state.SLEEPING] > state.IDLE:
        return state.NEVER
    match_a, match_b = _match_a(memory, timer), _match_b(memory, timer)
    count = scalar[timer + state.TIMER_COUNT]
    blocked = scalar[timer + state.TIMER_BLOCKED]
    top = _top(scalar, timer, match_a)
    second_top = match_a if scalar[timer + state.TIMER_IS_CTC] == 1 else _largest(timer)
    n_tick = state.NEVER
    for flag, match in ((MATCH_A, match_a), (MATCH_B, match_b), (OVERFLOW, _largest(timer))):
        if enabled & flag:
            first = count if flag == OVERFLOW else count + blocked
            if first <= match <= top:
                n_tick = min(n_tick, match - count + 1)
            elif match <= second_top:
                n_tick = min(n_tick, top - count + 1 + match + 1)
    if n_tick == state.NEVER:
        return state.NEVER
    origin = scalar[state.PRESCALER_ORIGIN]
    return int(origin + ((scalar[timer + state.TIMER_SYNC] - origin) // divider + n_tick) * divider)
