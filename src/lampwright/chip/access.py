"""What the core reads and writes below RAM: registers of the chip, each by its own rule.

Source: datasheets of the chips, register descriptions (from memory). Whatever has no rule
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
    OFF,
    PINA,
    PLAIN,
    PORTG,
    PRR,
    SMCR,
    SPH,
    SPL,
    SREG,
    WDTCSR,
)
from lampwright.chip.state import ChipState
from lampwright.chip.timer_access import (
    TIMER0_OFF,
    TIMER1_OFF,
    is_of_timer0,
    is_of_timer1,
    read_timer_register,
    write_timer_register,
)
from lampwright.chip.watchdog import write_watchdog

COMPARATOR_OFF, COMPARATOR_FLAG = 0x80, 0x10
"""Bits of ACSR: ACD, ACI."""

PULL_UPS_OFF, BROWN_OUT_SLEEP = 0x10, 0x60
"""Bits of MCUCR: PUD; BODS and BODSE, which only save current in sleep."""

PRR_BITS = 0xEF
"""Bits of PRR that exist."""

HIGH_PORTS = 0x100
"""Ports H to L, out of reach of ``in`` and ``out``, lie from here on."""

N_LOW_PORT = 7
"""Ports A to G."""

NO_VALUE = as_argument(-1)


@compiled
def _stop(chip: ChipState, reason: int, address: int, value: int) -> int:
    chip.scalar[state.STOP] = reason
    chip.scalar[state.STOP_ADDRESS] = address
    chip.scalar[state.STOP_VALUE] = value
    return 0


@compiled
def is_of_port(address: int) -> bool:
    """Return whether a modelled register is a PIN, DDR or PORT."""
    return address <= PORTG or address >= HIGH_PORTS


@compiled
def port_of(address: int) -> int:
    """Return the port, counted from A, that a PIN, DDR or PORT register belongs to."""
    return (address - PINA) // 3 if address <= PORTG else N_LOW_PORT + (address - HIGH_PORTS) // 3


@compiled
def port_address(port: int) -> int:
    """Return the address of a port's PIN; DDR and PORT follow it."""
    return PINA + 3 * port if port < N_LOW_PORT else HIGH_PORTS + 3 * (port - N_LOW_PORT)


@compiled
def _read_pins(chip: ChipState, port: int, mask: int, now: int) -> int:
    """Return the pins of a port, of which the program looks at those in ``mask``."""
    scalar, memory = chip.scalar, chip.memory
    address = port_address(port)
    direction, written = memory[address + 1], memory[address + 2]
    low, high, pins = (
        scalar[state.READS_LOW + port],
        scalar[state.READS_HIGH + port],
        scalar[state.PORT_PINS + port],
    )
    if port == scalar[state.INPUT_OFF]:
        low |= memory[DIDR0] << scalar[state.INPUT_OFF_SHIFT]
    if port == scalar[state.INPUT_OFF + 1]:
        low |= memory[DIDR1] << scalar[state.INPUT_OFF_SHIFT + 1]
    known = direction | (0 if memory[MCUCR] & PULL_UPS_OFF else written)
    level = scalar[state.PIN_BEFORE + port] if now <= scalar[state.PIN_CHANGED + port] else written
    known |= low | high
    level = (level | high) & ~low
    if mask & pins & ~known:
        return _stop(chip, state.STOP_FLOATING, address, mask & pins & ~known)
    return int(level & known & pins)


@compiled
def _write_port(chip: ChipState, address: int, value: int, now: int) -> None:
    scalar, memory = chip.scalar, chip.memory
    port = port_of(address)
    start = port_address(port)
    value &= scalar[state.PORT_PINS + port]
    scalar[state.PIN_BEFORE + port] = memory[start + 2]
    scalar[state.PIN_CHANGED + port] = now
    if address == start:  # a one written to PIN toggles PORT
        memory[start + 2] ^= value
    else:
        memory[address] = value
    drive_port(chip, port, memory[start + 2] & memory[start + 1], now)


@compiled
def read_register(chip: ChipState, address: int, mask: int, now: int) -> int:
    """Read data address ``address`` (outside the general registers) at cycle ``now``.

    ``mask`` are the bits that the program looks at. A read that isn't modelled sets STOP.
    """
    scalar, memory = chip.scalar, chip.memory
    if address >= scalar[state.FIRST_RAM]:
        return (
            int(memory[address])
            if address <= scalar[state.LAST_RAM]
            else _stop(chip, state.STOP_MEMORY, address, NO_VALUE)
        )
    model = chip.rules[MODEL, address]
    if model in (PLAIN, OFF):
        return int(memory[address])
    if model != MODELLED:
        return _stop(chip, state.STOP_READ, address, NO_VALUE)
    if is_of_port(address):
        port = port_of(address)
        return _read_pins(chip, port, mask, now) if address == port_address(port) else int(memory[address])
    if is_of_timer0(address) or is_of_timer1(address):
        return read_timer_register(chip, address, now)
    if address == EECR:
        return read_eeprom_control(chip, now)
    if address == ACSR and memory[ACSR] & COMPARATOR_OFF == 0:
        return _stop(chip, state.STOP_READ, address, NO_VALUE)
    if address == WDTCSR and now <= scalar[state.WATCHDOG_UNLOCKED]:
        return int(memory[address] | 0x10)
    return int(memory[address])


@compiled
def write_register(chip: ChipState, address: int, value: int, now: int) -> None:
    """Write data address ``address`` (outside the general registers), in force from cycle ``now`` on.

    A write that isn't modelled sets STOP.
    """
    scalar, memory = chip.scalar, chip.memory
    if address >= scalar[state.FIRST_RAM]:
        if address <= scalar[state.LAST_RAM]:
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
    elif is_of_port(address):
        _write_port(chip, address, value, now)
    elif is_of_timer0(address) or is_of_timer1(address) or address == GTCCR:
        write_timer_register(chip, address, value, now)
    elif address == WDTCSR:
        write_watchdog(chip, value, now)
    elif address == EECR:
        write_eeprom_control(chip, value, now)
    else:
        _write_system(chip, address, value, now)


@compiled
def _would_halt_timer(chip: ChipState, power_reduction: int) -> bool:
    """Return whether a value of PRR takes a running timer's clock away, which is not modelled."""
    divider0 = chip.scalar[state.TIMER0 + state.TIMER_DIVIDER]
    divider1 = chip.scalar[state.TIMER1 + state.TIMER_DIVIDER]
    return bool((power_reduction & TIMER0_OFF and divider0) or (power_reduction & TIMER1_OFF and divider1))


@compiled
def _write_system(chip: ChipState, address: int, value: int, now: int) -> None:
    scalar, memory = chip.scalar, chip.memory
    if address in (SPL, SPH, SREG):
        memory[address] = value
    elif address in (EEDR, EEARL, EEARH):
        if eeprom_is_busy(chip, now) and address != EEDR:
            _stop(chip, state.STOP_EEPROM_BUSY, address, value)
        memory[address] = value & (chip.eeprom.shape[1] - 1) >> 8 if address == EEARH else value
    elif address == MCUSR:
        memory[MCUSR] &= value
    elif address == SMCR:
        memory[SMCR] = value & 0x0F
    elif address == MCUCR and value & ~(PULL_UPS_OFF | BROWN_OUT_SLEEP) == 0:
        memory[MCUCR] = value & PULL_UPS_OFF
    elif address == ACSR and value & ~(COMPARATOR_OFF | COMPARATOR_FLAG) == 0:
        memory[ACSR] = value & COMPARATOR_OFF
    elif address == PRR and not _would_halt_timer(chip, value):
        memory[PRR] = value & PRR_BITS
    elif address == CLKPR and value == 0x80:
        scalar[state.CLOCK_UNLOCKED] = now + 4
    elif address == CLKPR and (now > scalar[state.CLOCK_UNLOCKED] or value & 0x8F == 0):
        pass  # without its timed sequence a write changes nothing; a divider of one is what it runs at
    else:
        _stop(chip, state.STOP_WRITE, address, value)
