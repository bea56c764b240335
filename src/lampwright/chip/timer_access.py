"""What the core reads and writes of Timer0 and Timer1, each register by its own rule.

Source: ATmega328P datasheet, register descriptions of both timers (from memory). Waveforms on pins,
pulse-width modes, input capture and external clocks are not modelled and end the run.
"""

from __future__ import annotations

from lampwright.chip import state
from lampwright.chip.compiled import as_argument, compiled
from lampwright.chip.registers import (
    GTCCR,
    OCR0A,
    OCR0B,
    OCR1AH,
    OCR1AL,
    OCR1BH,
    OCR1BL,
    PRR,
    TCCR0A,
    TCCR0B,
    TCCR1B,
    TCNT0,
    TCNT1H,
    TCNT1L,
    TIFR0,
    TIFR1,
    TIMSK0,
    TIMSK1,
)
from lampwright.chip.state import ChipState
from lampwright.chip.timer import bring_timer_up, bring_timers_up

TIMER0, TIMER1 = as_argument(state.TIMER0), as_argument(state.TIMER1)
TIMER0_OFF, TIMER1_OFF = 0x20, 0x08
"""Bits of PRR: PRTIM0, PRTIM1."""

INTERRUPT_BITS = 0x07
"""Of TIMSK and TIFR: overflow, compare match A and B."""

CLEAR_ON_MATCH_0, CLEAR_ON_MATCH_1, CLOCK = 0x02, 0x08, 0x07
"""WGM01 of TCCR0A; WGM12 and CS12..0 of TCCR1B."""

LARGEST_CLOCK = 5
"""Clock select of the largest divider; beyond are clocks from a pin."""

PRESCALER_RESET, PRESCALER_BITS = 0x01, 0x03
"""Bits of GTCCR: PSRSYNC; with PSRASY, Timer2's, which changes nothing here."""


@compiled
def is_of_timer0(address: int) -> bool:
    """Return whether a data address is one of Timer0's registers."""
    return TCCR0A <= address <= OCR0B or address in (TIMSK0, TIFR0)


@compiled
def is_of_timer1(address: int) -> bool:
    """Return whether a data address is one of Timer1's modelled registers."""
    return TCCR1B <= address <= OCR1BH or address in (TIMSK1, TIFR1)


@compiled
def _is_switched_off(chip: ChipState, address: int) -> bool:
    return bool(chip.memory[PRR] & (TIMER0_OFF if is_of_timer0(address) else TIMER1_OFF))


@compiled
def _stop(chip: ChipState, reason: int, address: int, value: int) -> None:
    chip.scalar[state.STOP] = reason
    chip.scalar[state.STOP_ADDRESS] = address
    chip.scalar[state.STOP_VALUE] = value


@compiled
def read_timer_register(chip: ChipState, address: int, now: int) -> int:
    """Read one of the timers' registers at cycle ``now``."""
    scalar, memory = chip.scalar, chip.memory
    if _is_switched_off(chip, address):
        _stop(chip, state.STOP_SWITCHED_OFF, address, 0)
        return 0
    if address in (TIFR0, TIFR1):
        bring_timers_up(chip, now)
    elif address == TCNT0:
        bring_timer_up(chip, TIMER0, now)
        return int(scalar[state.TIMER0 + state.TIMER_COUNT])
    elif address == TCNT1L:
        bring_timer_up(chip, TIMER1, now)
        count = scalar[state.TIMER1 + state.TIMER_COUNT]
        scalar[state.TIMER_TEMP] = count >> 8
        return int(count & 0xFF)
    elif address == TCNT1H:
        return int(scalar[state.TIMER_TEMP])
    return int(memory[address])


@compiled
def write_timer_register(chip: ChipState, address: int, value: int, now: int) -> None:
    """Write one of the timers' registers, or GTCCR, in force from cycle ``now`` on."""
    if address == GTCCR:
        bring_timers_up(chip, now)
        if value & ~PRESCALER_BITS:
            _stop(chip, state.STOP_WRITE, address, value)
        elif value & PRESCALER_RESET:
            chip.scalar[state.PRESCALER_ORIGIN] = now
    elif _is_switched_off(chip, address):
        # the chip takes no notice; start-up code that switches off twice is let through
        if value != 0 and address not in (TIFR0, TIFR1):
            _stop(chip, state.STOP_SWITCHED_OFF, address, value)
    else:
        bring_timers_up(chip, now)
        if is_of_timer0(address):
            _write_timer0(chip, address, value)
        else:
            _write_timer1(chip, address, value)


@compiled
def _choose_clock(chip: ChipState, timer: int, clock: int) -> None:
    chip.scalar[timer + state.TIMER_DIVIDER] = (0, 1, 8, 64, 256, 1024)[clock]


@compiled
def _write_timer0(chip: ChipState, address: int, value: int) -> None:
    scalar, memory = chip.scalar, chip.memory
    if address == TIFR0:
        memory[TIFR0] &= ~value
    elif address == TCNT0:
        scalar[state.TIMER0 + state.TIMER_COUNT] = value
        scalar[state.TIMER0 + state.TIMER_BLOCKED] = 1
    elif address in (OCR0A, OCR0B):
        memory[address] = value
    elif address == TIMSK0 and value & ~INTERRUPT_BITS == 0:
        memory[TIMSK0] = value
    elif address == TCCR0A and value & ~CLEAR_ON_MATCH_0 == 0:
        memory[TCCR0A] = value
        scalar[state.TIMER0 + state.TIMER_IS_CTC] = value >> 1 & 1
    elif address == TCCR0B and value <= LARGEST_CLOCK:
        memory[TCCR0B] = value
        _choose_clock(chip, TIMER0, value)
    else:
        _stop(chip, state.STOP_WRITE, address, value)


@compiled
def _write_timer1(chip: ChipState, address: int, value: int) -> None:
    scalar, memory = chip.scalar, chip.memory
    if address == TIFR1:
        memory[TIFR1] &= ~value
    elif address == TIMSK1 and value & ~INTERRUPT_BITS == 0:
        memory[TIMSK1] = value
    elif address == TCCR1B and value & ~(CLEAR_ON_MATCH_1 | CLOCK) == 0 and value & CLOCK <= LARGEST_CLOCK:
        memory[TCCR1B] = value
        _choose_clock(chip, TIMER1, value & CLOCK)
        scalar[state.TIMER1 + state.TIMER_IS_CTC] = value >> 3 & 1
    elif address in (TCNT1H, OCR1AH, OCR1BH):
        scalar[state.TIMER_TEMP] = value
    elif address == TCNT1L:
        scalar[state.TIMER1 + state.TIMER_COUNT] = scalar[state.TIMER_TEMP] << 8 | value
        scalar[state.TIMER1 + state.TIMER_BLOCKED] = 1
    elif address in (OCR1AL, OCR1BL):
        memory[address] = value
        memory[address + 1] = scalar[state.TIMER_TEMP]
    else:
        _stop(chip, state.STOP_WRITE, address, value)
