"""The EEPROM as the core sees it.

Source: ATmega328P datasheet, "EEPROM Data Memory" (from memory): EEPE counts only within four
cycles of writing EEMPE, stays set for 3.4 ms (1.8 ms for an erase or a write alone) and halts
the core for two cycles; a read halts it for four.
"""

from __future__ import annotations

from lampwright.chip import state
from lampwright.chip.compiled import compiled, inlined
from lampwright.chip.registers import EEARH, EEARL, EECR, EEDR
from lampwright.chip.state import ChipState

MODE, READY_INTERRUPT, MASTER_ENABLE, WRITE_ENABLE, READ_ENABLE = 0x30, 0x08, 0x04, 0x02, 0x01
"""Bits of EECR: EEPM1..0, EERIE, EEMPE, EEPE, EERE."""

ERASE_ONLY, WRITE_ONLY = 0x10, 0x20


@inlined
def eeprom_is_busy(chip: ChipState, now: int) -> bool:
    """Return whether a write is going on at cycle ``now``."""
    return bool(now < chip.scalar[state.EEPROM_BUSY])


@compiled
def read_eeprom_control(chip: ChipState, now: int) -> int:
    """Return EECR as the core reads it."""
    value = chip.memory[EECR] & (MODE | READY_INTERRUPT)
    if eeprom_is_busy(chip, now):
        value |= WRITE_ENABLE
    if now <= chip.scalar[state.EEPROM_UNLOCKED]:
        value |= MASTER_ENABLE
    return int(value)


@compiled
def _start_write(chip: ChipState, now: int) -> None:
    scalar, memory = chip.scalar, chip.memory
    address = (memory[EEARL] | memory[EEARH] << 8) % chip.eeprom.shape[1]
    mode = memory[EECR] & MODE
    duration = scalar[state.EEPROM_WRITE] if mode == 0 else scalar[state.EEPROM_HALF]
    if mode == WRITE_ONLY:
        chip.eeprom[state.EEPROM_HELD, address] &= memory[EEDR]
    else:
        chip.eeprom[state.EEPROM_HELD, address] = 0xFF if mode == ERASE_ONLY else memory[EEDR]
    chip.eeprom[state.EEPROM_WEAR, address] += 1
    scalar[state.EEPROM_UNLOCKED] = -1
    scalar[state.EEPROM_BUSY] = now + duration
    scalar[state.EEPROM_PAUSE] = 2


@compiled
def write_eeprom_control(chip: ChipState, value: int, now: int) -> None:
    """Write EECR."""
    scalar, memory = chip.scalar, chip.memory
    is_busy = eeprom_is_busy(chip, now)
    mode = memory[EECR] & MODE if is_busy else value & MODE
    if mode == MODE or (is_busy and value & READ_ENABLE):
        scalar[state.STOP] = state.STOP_EEPROM_BUSY if is_busy else state.STOP_WRITE
        scalar[state.STOP_ADDRESS] = EECR
        scalar[state.STOP_VALUE] = value
        return
    is_unlocked = now <= scalar[state.EEPROM_UNLOCKED]
    memory[EECR] = mode | (value & READY_INTERRUPT)
    if value & WRITE_ENABLE and is_unlocked and not is_busy:
        _start_write(chip, now)
    elif value & MASTER_ENABLE and not is_unlocked:
        scalar[state.EEPROM_UNLOCKED] = now + 4
    if value & READ_ENABLE:
        address = (memory[EEARL] | memory[EEARH] << 8) % chip.eeprom.shape[1]
        memory[EEDR] = chip.eeprom[state.EEPROM_HELD, address]
        scalar[state.EEPROM_PAUSE] = 4
