"""The watchdog timer: its timed sequence, its time-outs, its interrupt.

Source: ATmega328P datasheet, "Watchdog Timer" (from memory): 2048 periods of the 128 kHz
oscillator at the shortest setting, doubled by each step; WDE and the prescaler change only
within four cycles of writing WDCE and WDE as ones; WDRF in MCUSR keeps WDE set; in the mode
of both, a second time-out before the interrupt has run resets the chip.
Not modelled: the oscillator's phase against the core clock (at most 8 us at each WDR).
"""

from __future__ import annotations

from lampwright.chip import state
from lampwright.chip.compiled import compiled, inlined
from lampwright.chip.registers import MCUSR, WDTCSR
from lampwright.chip.state import ChipState

FLAG, INTERRUPT, CHANGE, RESET, PRESCALER = 0x80, 0x40, 0x10, 0x08, 0x27
"""Bits of WDTCSR: WDIF, WDIE, WDCE, WDE, WDP3..0."""

BIT_WATCHDOG_RESET = 0x08
"""WDRF of MCUSR."""

LARGEST_SETTING = 9


@inlined
def prescaler_setting(control: int) -> int:
    """Return WDP3..0 as a number."""
    return (control >> 2 & 8) | (control & 7)


@inlined
def watchdog_due(chip: ChipState) -> int:
    """Return the cycle of the next time-out, or NEVER."""
    control = chip.memory[WDTCSR]
    if control & (INTERRUPT | RESET) == 0:
        return state.NEVER
    period = chip.scalar[state.WATCHDOG_PERIOD + prescaler_setting(control)]
    return int(chip.scalar[state.WATCHDOG_ORIGIN] + period)


@compiled
def time_out(chip: ChipState) -> bool:
    """Take in a time-out; return whether it resets the chip."""
    scalar, memory = chip.scalar, chip.memory
    control = memory[WDTCSR]
    scalar[state.WATCHDOG_ORIGIN] += scalar[state.WATCHDOG_PERIOD + prescaler_setting(control)]
    is_first = control & INTERRUPT != 0 and control & FLAG == 0
    memory[WDTCSR] = control | FLAG
    return control & RESET != 0 and not is_first


@compiled
def write_watchdog(chip: ChipState, value: int, now: int) -> None:
    """Write WDTCSR."""
    scalar, memory = chip.scalar, chip.memory
    before = memory[WDTCSR]
    control = (before & (FLAG | RESET | PRESCALER)) | (value & INTERRUPT)
    if value & FLAG:
        control &= ~FLAG
    if value & CHANGE and value & RESET:
        scalar[state.WATCHDOG_UNLOCKED] = now + 4
        control |= RESET
    elif now <= scalar[state.WATCHDOG_UNLOCKED]:
        scalar[state.WATCHDOG_UNLOCKED] = 0
        control = (control & ~(RESET | PRESCALER)) | (value & (RESET | PRESCALER))
    else:
        control |= value & RESET
    if memory[MCUSR] & BIT_WATCHDOG_RESET:
        control |= RESET
    if prescaler_setting(control) > LARGEST_SETTING:
        scalar[state.STOP] = state.STOP_WRITE
        scalar[state.STOP_ADDRESS] = WDTCSR
        scalar[state.STOP_VALUE] = value
        return
    if before & (INTERRUPT | RESET) == 0:
        scalar[state.WATCHDOG_ORIGIN] = now
    memory[WDTCSR] = control
