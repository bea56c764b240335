"""What an instruction does apart from registers and RAM: I/O registers, sleep, and what ends a run.

Called from the instruction loop (:mod:`lampwright.chip.core`), seldom enough that it need not be part of it.
"""

from __future__ import annotations

from lampwright.chip import opcode, state
from lampwright.chip.access import read_register, write_register
from lampwright.chip.compiled import compiled
from lampwright.chip.registers import EIFR, PINA, PORTG, SMCR, SPH, SPL, SREG, TIFR0
from lampwright.chip.state import ChipState
from lampwright.chip.timer import bring_timers_up

SLEEP_ENABLED, SLEEP_MODE = 0x01, 0x0E
MODE_IDLE, MODE_NOISE_REDUCTION, MODE_POWER_DOWN, MODE_POWER_SAVE, MODE_STANDBY, MODE_EXTENDED_STANDBY = (
    *(0x00, 0x02, 0x04, 0x06),
    *(0x0C, 0x0E),
)
"""Bits of SMCR."""


@compiled
def stop(chip: ChipState, reason: int, address: int) -> None:
    """Note why the run can't go on."""
    chip.scalar[state.STOP] = reason
    chip.scalar[state.STOP_ADDRESS] = address
    chip.scalar[state.STOP_VALUE] = -1


@compiled
def read_outside_ram(chip: ChipState, address: int, mask: int, now: int, pointer: int, status: int) -> int:
    """Read a data address that isn't RAM, or set STOP; ``mask`` are the bits looked at."""
    memory = chip.memory
    if address < 0x20:
        return int(memory[address])
    memory[SPL], memory[SPH], memory[SREG] = pointer & 0xFF, pointer >> 8, status
    return read_register(chip, address, mask, now)


@compiled
def write_outside_ram(chip: ChipState, address: int, value: int, now: int, pointer: int, status: int) -> None:
    """Write a data address that isn't RAM, or set STOP; SP and SREG are in memory afterwards."""
    memory = chip.memory
    memory[SPL], memory[SPH], memory[SREG] = pointer & 0xFF, pointer >> 8, status
    if address < 0x20:
        memory[address] = value
        return
    write_register(chip, address, value, now)
    if address == SREG and value & ~status & 0x80:
        chip.scalar[state.HOLD] = 1


@compiled
def fall_asleep(chip: ChipState, now: int) -> None:
    """Take in a SLEEP that ends at cycle ``now``."""
    scalar, control = chip.scalar, chip.memory[SMCR]
    if control & SLEEP_ENABLED == 0:
        return
    mode = control & SLEEP_MODE
    bring_timers_up(chip, now)
    scalar[state.SLEPT_FROM] = now
    scalar[state.LONGEST_AWAKE] = max(scalar[state.LONGEST_AWAKE], now - scalar[state.AWAKE_SINCE])
    # the "save" modes differ only by Timer2, which nothing here may switch on
    if mode == MODE_IDLE:
        scalar[state.SLEEPING] = state.IDLE
    elif mode == MODE_NOISE_REDUCTION:
        scalar[state.SLEEPING] = state.NOISE_REDUCTION
    elif mode in (MODE_STANDBY, MODE_EXTENDED_STANDBY):
        scalar[state.SLEEPING] = state.STANDBY
    elif mode in (MODE_POWER_DOWN, MODE_POWER_SAVE):
        scalar[state.SLEEPING] = state.POWER_DOWN
    else:
        scalar[state.STOP] = state.STOP_WRITE
        scalar[state.STOP_ADDRESS] = SMCR
        scalar[state.STOP_VALUE] = control


@compiled
def change_io_bit(chip: ChipState, address: int, bit: int, is_set: bool, now: int, pointer: int, status: int) -> None:
    """Set or clear one bit of a low I/O register, no other bit being touched."""
    mask = 1 << bit
    if TIFR0 <= address <= EIFR or (address <= PORTG and address % 3 == PINA % 3):
        value = mask if is_set else 0  # here a one acts and a zero doesn't
    else:
        before = read_outside_ram(chip, address, mask, now - 1, pointer, status)
        value = before | mask if is_set else before & ~mask
    if chip.scalar[state.STOP] == state.RUNNING:
        write_outside_ram(chip, address, value, now, pointer, status)


@compiled
def reason_to_stop(operation: int) -> int:
    """Return why an operation ends the run."""
    if operation == opcode.BREAK:
        return state.STOP_BREAK
    if operation == opcode.STORE_FLASH:
        return state.STOP_SELF_WRITE
    if operation == opcode.ERASED:
        return state.STOP_ERASED
    if operation == opcode.BEYOND:
        return state.STOP_BEYOND
    return state.STOP_UNKNOWN
