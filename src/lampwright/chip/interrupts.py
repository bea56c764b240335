"""Events between two instructions: resets, time-outs, interrupts, sleep.

Source: ATmega328P datasheet, "Reset and Interrupt Handling", "Sleep Modes", "System Control
and Reset" (from memory): an interrupt's entry takes four cycles (five where the
program counter takes three bytes), four more out of sleep;
after SEI and RETI one instruction runs first; MCUSR collects the causes of resets; timers wake
the chip from idle, EEPROM ready from idle and noise reduction, the watchdog from every sleep mode.
From memory, and not settled by the datasheet: a core that sleeps with interrupts off is woken
by nothing but a reset.
"""

from __future__ import annotations

from lampwright.chip import state
from lampwright.chip.compiled import as_argument, compiled
from lampwright.chip.eeprom import READY_INTERRUPT, eeprom_is_busy
from lampwright.chip.line import drive_port, finish_latched
from lampwright.chip.registers import (
    AFTER_RESET,
    EECR,
    MCUSR,
    SPH,
    SPL,
    SREG,
    TIFR0,
    TIFR1,
    TIMSK0,
    TIMSK1,
    WDTCSR,
)
from lampwright.chip.state import N_PORT, ChipState
from lampwright.chip.timer import MATCH_A, MATCH_B, OVERFLOW, bring_timers_up, next_timer_flag
from lampwright.chip.watchdog import (
    BIT_WATCHDOG_RESET,
    FLAG,
    INTERRUPT,
    RESET,
    time_out,
    watchdog_due,
)

INTERRUPTS_ON = 0x80
"""I of SREG."""

BIT_POWER_ON_RESET = 0x01
"""PORF of MCUSR."""

NOTHING, WATCHDOG_CAUSE = as_argument(0), as_argument(BIT_WATCHDOG_RESET)

TIMER0, TIMER1 = as_argument(state.TIMER0), as_argument(state.TIMER1)

ENTRY_CYCLES, WAKING_CYCLES = 4, 4
STANDBY_CYCLES = 6
"""From standby, where the oscillator runs on, to going on. [cycle]"""

REACHED, DRAINING, STOPPED = -1, -2, -3
"""What :func:`settle` returns instead of a cycle: the wanted cycle is reached; buffers must be
seen to; the run can't go on."""


@compiled
def reset_chip(chip: ChipState, causes: int) -> None:
    """Reset the chip now; general registers, RAM and EEPROM are kept."""
    scalar, memory = chip.scalar, chip.memory
    now = scalar[state.CYCLE]
    kept = causes if causes & BIT_POWER_ON_RESET else memory[MCUSR] | causes
    for address in range(0x20, scalar[state.FIRST_RAM]):
        memory[address] = chip.rules[AFTER_RESET, address]
    memory[MCUSR] = kept
    for port in range(N_PORT):
        scalar[state.PIN_BEFORE + port] = 0
        drive_port(chip, port, NOTHING, now)
    scalar[state.CYCLE] = now + scalar[state.HELD] + scalar[state.START_UP]
    scalar[state.HELD] = 0
    scalar[state.PROGRAM_COUNTER] = 0
    scalar[state.SLEEPING] = state.AWAKE
    scalar[state.AWAKE_SINCE] = scalar[state.CYCLE]
    scalar[state.HUNG] = 0
    scalar[state.HOLD] = 0
    for timer in (state.TIMER0, state.TIMER1):
        for field in range(timer, timer + state.N_TIMER_FIELD):
            scalar[field] = 0
        scalar[timer + state.TIMER_SYNC] = scalar[state.CYCLE]
    scalar[state.TIMER_TEMP] = 0
    scalar[state.PRESCALER_ORIGIN] = scalar[state.CYCLE]
    scalar[state.WATCHDOG_ORIGIN] = scalar[state.CYCLE]
    scalar[state.WATCHDOG_UNLOCKED] = -1
    scalar[state.CLOCK_UNLOCKED] = -1
    scalar[state.EEPROM_UNLOCKED] = -1
    if kept & BIT_WATCHDOG_RESET:
        memory[WDTCSR] = RESET


@compiled
def pending_source(chip: ChipState) -> int:
    """Return the foremost enabled interrupt whose flag is set, as one of ``state.SOURCES``, or -1."""
    scalar, memory = chip.scalar, chip.memory
    if memory[WDTCSR] & (FLAG | INTERRUPT) == FLAG | INTERRUPT:
        return state.WATCHDOG_SOURCE
    if scalar[state.SLEEPING] >= state.STANDBY:
        return -1
    if memory[TIMSK0] | memory[TIMSK1] != 0 and scalar[state.SLEEPING] <= state.IDLE:
        bring_timers_up(chip, scalar[state.CYCLE])
        flags = memory[TIMSK1] & memory[TIFR1]
        if flags & MATCH_A:
            return state.TIMER1_A_SOURCE
        if flags & MATCH_B:
            return state.TIMER1_B_SOURCE
        if flags & OVERFLOW:
            return state.TIMER1_OVERFLOW_SOURCE
        flags = memory[TIMSK0] & memory[TIFR0]
        if flags & MATCH_A:
            return state.TIMER0_A_SOURCE
        if flags & MATCH_B:
            return state.TIMER0_B_SOURCE
        if flags & OVERFLOW:
            return state.TIMER0_OVERFLOW_SOURCE
    if memory[EECR] & READY_INTERRUPT and not eeprom_is_busy(chip, scalar[state.CYCLE]):
        return state.EEPROM_SOURCE
    return -1


@compiled
def _enter(chip: ChipState, source: int) -> None:
    """Clear the interrupt's flag, push the program counter, go to the vector."""
    scalar, memory = chip.scalar, chip.memory
    if source == state.WATCHDOG_SOURCE:
        memory[WDTCSR] &= ~(FLAG | INTERRUPT) if memory[WDTCSR] & RESET else ~FLAG
    elif source == state.TIMER1_A_SOURCE:
        memory[TIFR1] &= ~MATCH_A
    elif source == state.TIMER1_B_SOURCE:
        memory[TIFR1] &= ~MATCH_B
    elif source == state.TIMER1_OVERFLOW_SOURCE:
        memory[TIFR1] &= ~OVERFLOW
    elif source == state.TIMER0_A_SOURCE:
        memory[TIFR0] &= ~MATCH_A
    elif source == state.TIMER0_B_SOURCE:
        memory[TIFR0] &= ~MATCH_B
    elif source == state.TIMER0_OVERFLOW_SOURCE:
        memory[TIFR0] &= ~OVERFLOW
    pointer = memory[SPL] | memory[SPH] << 8
    wide = scalar[state.IS_WIDE]
    if pointer - 1 - wide < scalar[state.FIRST_RAM] or pointer > scalar[state.LAST_RAM]:
        scalar[state.STOP] = state.STOP_STACK
        scalar[state.STOP_ADDRESS] = pointer
        return
    memory[pointer] = scalar[state.PROGRAM_COUNTER] & 0xFF
    memory[pointer - 1] = scalar[state.PROGRAM_COUNTER] >> 8 & 0xFF
    if wide:
        memory[pointer - 2] = scalar[state.PROGRAM_COUNTER] >> 16
    pointer -= 2 + wide
    scalar[state.LOWEST_STACK] = min(scalar[state.LOWEST_STACK], pointer)
    memory[SPL] = pointer & 0xFF
    memory[SPH] = pointer >> 8
    memory[SREG] &= ~INTERRUPTS_ON
    scalar[state.PROGRAM_COUNTER] = 2 * scalar[state.VECTORS + source]
    scalar[state.CYCLE] += ENTRY_CYCLES + wide


@compiled
def _wake(chip: ChipState) -> None:
    scalar = chip.scalar
    if scalar[state.SLEEPING] == state.POWER_DOWN:
        scalar[state.CYCLE] += scalar[state.WAKE_UP]
    elif scalar[state.SLEEPING] == state.STANDBY:
        scalar[state.CYCLE] += STANDBY_CYCLES
    if scalar[state.SLEEPING] > state.IDLE:
        # the timers and their prescaler stood still
        slept = scalar[state.CYCLE] - scalar[state.SLEPT_FROM]
        scalar[state.PRESCALER_ORIGIN] += slept
        for timer in (state.TIMER0, state.TIMER1):
            scalar[timer + state.TIMER_SYNC] = scalar[state.CYCLE]
    scalar[state.SLEEPING] = state.AWAKE
    scalar[state.AWAKE_SINCE] = scalar[state.CYCLE]
    scalar[state.CYCLE] += WAKING_CYCLES


@compiled
def next_event(chip: ChipState) -> int:
    """Return the cycle of the next event that the core must look up for."""
    scalar, memory = chip.scalar, chip.memory
    soonest = watchdog_due(chip)
    if memory[SREG] & INTERRUPTS_ON and scalar[state.HUNG] == 0:
        soonest = min(soonest, next_timer_flag(chip, TIMER0), next_timer_flag(chip, TIMER1))
        if memory[EECR] & READY_INTERRUPT and scalar[state.SLEEPING] < state.STANDBY:
            soonest = min(soonest, scalar[state.EEPROM_BUSY])
    return int(soonest)


@compiled
def settle(chip: ChipState, until: int) -> int:
    """Do all that is due now; return the cycle to which the core may run without looking up.

    Returns REACHED, DRAINING or STOPPED when it may not run at all.
    """
    scalar, memory = chip.scalar, chip.memory
    while True:
        now = scalar[state.CYCLE]
        if scalar[state.STOP] != state.RUNNING:
            return STOPPED
        if scalar[state.RESET_WANTED] != 0:
            causes = scalar[state.RESET_WANTED]
            scalar[state.RESET_WANTED] = 0
            reset_chip(chip, causes)
        elif scalar[state.DRAIN] | scalar[state.GROW] != 0:
            return DRAINING
        elif now >= watchdog_due(chip):
            if time_out(chip):
                scalar[state.N_WATCHDOG_RESET] += 1
                reset_chip(chip, WATCHDOG_CAUSE)
        elif now >= until:
            finish_latched(chip, now)
            return DRAINING if scalar[state.DRAIN] != 0 else REACHED
        elif scalar[state.HUNG] == 1:
            scalar[state.CYCLE] = min(watchdog_due(chip), until)
        elif scalar[state.HOLD] == 1:
            scalar[state.HOLD] = 0
            return int(now + 1)
        else:
            source = pending_source(chip) if memory[SREG] & INTERRUPTS_ON else -1
            if source >= 0 and scalar[state.SLEEPING] != state.AWAKE:
                _wake(chip)
            elif source >= 0:
                _enter(chip, source)
            elif scalar[state.SLEEPING] != state.AWAKE:
                scalar[state.CYCLE] = min(next_event(chip), until)
            else:
                return min(next_event(chip), until)
