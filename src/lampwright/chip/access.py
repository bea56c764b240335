"""What the core reads and writes below RAM: registers of the chip, each by its own rule.

Source: ATmega328P datasheet, register descriptions (from memory). Whatever has no rule
here ends the run with the register's name; nothing reads as a silent zero.
"""

from __future__ import annotations

from lampwright.chip import state
from lampwright.chip.compiled import as_argument, compiled
from lampwright.chip.eeprom import eeprom_is_busy, read_eeprom_control, write_eeprom_control
from lampwright.chip.line import drive_port
from lampwright.chip.registers import (
    ACSR,
    CLKPR,
    DDRB,
    DIDR0,
    DIDR1,
    EEARH,
    EEARL,
    EECR,
    EEDR,
    GTCCR,
    HARMLESS,
    MCUCR,
    MCUSR,
    MODEL,
    MODELLED,
    OCR1AH,
    OCR1AL,
    OCR1BH,
    OCR1BL,
    OFF,
    PINB,
    PLAIN,
    PORTB,
    PORTD,
    PRR,
    SMCR,
    SPH,
    SPL,
    SREG,
    TCCR1B,
    TCNT1H,
    TCNT1L,
    TIFR1,
    TIMSK1,
    WDTCSR,
)
from lampwright.chip.state import RAM_END, RAM_START, ChipState
from lampwright.chip.timer import bring_timer_up
from lampwright.chip.watchdog import write_watchdog

COMPARATOR_OFF, COMPARATOR_FLAG = 0x80, 0x10
"""Bits of ACSR: ACD, ACI."""

PULL_UPS_OFF, BROWN_OUT_SLEEP = 0x10, 0x60
"""Bits of MCUCR: PUD; BODS and BODSE, which only save current in sleep."""

TIMER1_OFF, PRR_BITS = 0x08, 0xEF
"""Bits of PRR: PRTIM1; all that exist."""

PORT_BITS = (0xFF, 0x7F, 0xFF)
"""Pins that ports B, C, D have."""

CRYSTAL_PINS, RESET_PIN = 0xC0, 0x40
"""Of port B, read as low while they carry the crystal; of port C, pulled high from inside."""


NO_VALUE = as_argument(-1)


@compiled
def _stop(chip: ChipState, reason: int, address: int, value: int) -> int:
    chip.scalar[state.STOP] = reason
    chip.scalar[state.STOP_ADDRESS] = address
    chip.scalar[state.STOP_VALUE] = value
    return 0


@compiled
def _read_pins(chip: ChipState, port: int, mask: int, now: int) -> int:
    """Return the pins of a port, of which the program looks at those in ``mask``."""
    scalar, memory = chip.scalar, chip.memory
    direction = memory[DDRB + 3 * port]
    written = memory[PORTB + 3 * port]
    known = direction | (0 if memory[MCUCR] & PULL_UPS_OFF else written)
    level = scalar[state.PIN_BEFORE + port] if now <= scalar[state.PIN_CHANGED + port] else written
    if port == 0:
        known |= CRYSTAL_PINS
        level &= ~CRYSTAL_PINS
    elif port == 1:
        known |= RESET_PIN | memory[DIDR0]
        level = (level | RESET_PIN) & ~memory[DIDR0]
    else:
        known |= memory[DIDR1] << 6
        level &= ~(memory[DIDR1] << 6)
    if mask & PORT_BITS[port] & ~known:
        return _stop(chip, state.STOP_FLOATING, PINB + 3 * port, mask & PORT_BITS[port] & ~known)
    return int(level & known & PORT_BITS[port])


@compiled
def _write_port(chip: ChipState, address: int, value: int, now: int) -> None:
    scalar, memory = chip.scalar, chip.memory
    port = (address - PINB) // 3
    register = (address - PINB) % 3
    value &= PORT_BITS[port]
    scalar[state.PIN_BEFORE + port] = memory[PORTB + 3 * port]
    scalar[state.PIN_CHANGED + port] = now
    if register == 0:  # a one written to PIN toggles PORT
        memory[PORTB + 3 * port] ^= value
    else:
        memory[address] = value
    drive_port(chip, port, memory[PORTB + 3 * port] & memory[DDRB + 3 * port], now)


@compiled
def _is_timer(address: int) -> bool:
    return TCCR1B <= address <= OCR1BH or address in (TIMSK1, TIFR1)


@compiled
def read_register(chip: ChipState, address: int, mask: int, now: int) -> int:
    """Read data address ``address`` (outside the general registers) at cycle ``now``.

    ``mask`` are the bits that the program looks at. A read that isn't modelled sets STOP.
    """
    scalar, memory = chip.scalar, chip.memory
    if address >= RAM_START:
        return int(memory[address]) if address <= RAM_END else _stop(chip, state.STOP_MEMORY, address, NO_VALUE)
    model = chip.rules[MODEL, address]
    if model in (PLAIN, OFF):
        return int(memory[address])
    if model != MODELLED:
        return _stop(chip, state.STOP_READ, address, NO_VALUE)
    if PINB <= address <= PORTD:
        port, register = (address - PINB) // 3, (address - PINB) % 3
        return _read_pins(chip, port, mask, now) if register == 0 else int(memory[address])
    if _is_timer(address):
        if memory[PRR] & TIMER1_OFF:
            return _stop(chip, state.STOP_SWITCHED_OFF, address, NO_VALUE)
        return _read_timer(chip, address, now)
    if address == EECR:
        return read_eeprom_control(chip, now)
    if address == ACSR and memory[ACSR] & COMPARATOR_OFF == 0:
        return _stop(chip, state.STOP_READ, address, NO_VALUE)
    if address == WDTCSR and now <= scalar[state.WATCHDOG_UNLOCKED]:
        return int(memory[address] | 0x10)
    return int(memory[address])


@compiled
def _read_timer(chip: ChipState, address: int, now: int) -> int:
    scalar, memory = chip.scalar, chip.memory
    if address == TIFR1:
        bring_timer_up(chip, now)
    elif address == TCNT1L:
        bring_timer_up(chip, now)
        scalar[state.TIMER_TEMP] = scalar[state.TIMER_COUNT] >> 8
        return int(scalar[state.TIMER_COUNT] & 0xFF)
    elif address == TCNT1H:
        return int(scalar[state.TIMER_TEMP])
    return int(memory[address])


@compiled
def write_register(chip: ChipState, address: int, value: int, now: int) -> None:
    """Write data address ``address`` (outside the general registers), in force from cycle ``now`` on.

    A write that isn't modelled sets STOP.
    """
    memory = chip.memory
    if address >= RAM_START:
        if address <= RAM_END:
            memory[address] = value
        else:
            _stop(chip, state.STOP_MEMORY, address, value)
        return
    model = chip.rules[MODEL, address]
    if model == PLAIN:
        memory[address] = value
    elif model == OFF:
        if value & ~chip.rules[HARMLESS, address]:
            _stop(chip, state.STOP_WRITE, address, value)
    elif model != MODELLED:
        _stop(chip, state.STOP_WRITE, address, value)
    elif PINB <= address <= PORTD:
        _write_port(chip, address, value, now)
    elif _is_timer(address) or address == GTCCR:
        _write_timer(chip, address, value, now)
    elif address == WDTCSR:
        write_watchdog(chip, value, now)
    elif address == EECR:
        write_eeprom_control(chip, value, now)
    else:
        _write_system(chip, address, value, now)


@compiled
def _write_timer(chip: ChipState, address: int, value: int, now: int) -> None:
    scalar, memory = chip.scalar, chip.memory
    if memory[PRR] & TIMER1_OFF and address != GTCCR:
        _stop(chip, state.STOP_SWITCHED_OFF, address, value)
        return
    bring_timer_up(chip, now)
    if address == TIFR1:
        memory[TIFR1] &= ~value
    elif address == TIMSK1:
        if value & ~0x07:
            _stop(chip, state.STOP_WRITE, address, value)
        memory[TIMSK1] = value & 0x07
    elif address == TCCR1B:
        clock = value & 7
        if value & ~0x0F or clock > 5:  # neither input capture nor an external clock
            _stop(chip, state.STOP_WRITE, address, value)
            return
        memory[TCCR1B] = value
        scalar[state.TIMER_DIVIDER] = (0, 1, 8, 64, 256, 1024)[clock]
        scalar[state.TIMER_IS_CTC] = value >> 3 & 1
    elif address == GTCCR:
        if value & ~0x03:
            _stop(chip, state.STOP_WRITE, address, value)
        elif value & 1:
            scalar[state.PRESCALER_ORIGIN] = now
    elif address in (TCNT1H, OCR1AH, OCR1BH):
        scalar[state.TIMER_TEMP] = value
    elif address == TCNT1L:
        scalar[state.TIMER_COUNT] = scalar[state.TIMER_TEMP] << 8 | value
        scalar[state.TIMER_BLOCKED] = 1
    elif address in (OCR1AL, OCR1BL):
        memory[address] = value
        memory[address + 1] = scalar[state.TIMER_TEMP]
    else:
        _stop(chip, state.STOP_WRITE, address, value)


@compiled
def _write_system(chip: ChipState, address: int, value: int, now: int) -> None:
    scalar, memory = chip.scalar, chip.memory
    if address in (SPL, SPH, SREG):
        memory[address] = value
    elif address in (EEDR, EEARL, EEARH):
        if eeprom_is_busy(chip, now) and address != EEDR:
            _stop(chip, state.STOP_EEPROM_BUSY, address, value)
        memory[address] = value & 0x03 if address == EEARH else value
    elif address == MCUSR:
        memory[MCUSR] &= value
    elif address == SMCR:
        memory[SMCR] = value & 0x0F
    elif address == MCUCR and value & ~(PULL_UPS_OFF | BROWN_OUT_SLEEP) == 0:
        memory[MCUCR] = value & PULL_UPS_OFF
    elif address == ACSR and value & ~(COMPARATOR_OFF | COMPARATOR_FLAG) == 0:
        memory[ACSR] = value & COMPARATOR_OFF
    elif address == PRR and (value & TIMER1_OFF == 0 or scalar[state.TIMER_DIVIDER] == 0):
        memory[PRR] = value & PRR_BITS
    elif address == CLKPR and value == 0x80:
        scalar[state.CLOCK_UNLOCKED] = now + 4
    elif address == CLKPR and (now > scalar[state.CLOCK_UNLOCKED] or value & 0x8F == 0):
        pass  # without its timed sequence a write changes nothing; a divider of one is what it runs at
    else:
        _stop(chip, state.STOP_WRITE, address, value)
