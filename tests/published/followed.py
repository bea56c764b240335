"""The firmware that emulators are followed through, and the chip that begins with all its RAM zero as theirs do."""

from __future__ import annotations

from pathlib import Path

from lampwright.chip import EmulatedChip, state
from lampwright.firmware import build, write_firmware
from tests.firmware.conftest import build_show

BETWEEN = 9_973
"""Instructions between two comparisons: a prime, so that they fall anywhere in a frame."""

WAKING = 4
"""Further cycles out of sleep (datasheets, "Interrupt Response Time", from memory)."""

BOARDS = {
    "atmega328p": ("m328p-16mhz-crystal", ("PD6", "PD5", "PB0"), 11, 4),
    "atmega2560": ("m2560-16mhz-crystal", ("PF1", "PA7", "PB0"), 17, 5),
    "atmega32u4": ("m32u4-16mhz-resonator", ("PD6", "PF4", "PC7"), 17, 4),
}
"""Board, pins, number of the TIMER1 COMPA vector by the datasheets' vector tables, cycles to enter it."""


def followed_image(name: str, folder: Path) -> bytes:
    """Build a firmware of three lines, with standby, fades and a repeat, for a chip."""
    board, pins, _, _ = BOARDS[name]
    return build(write_firmware(build_show((20, 7, 1), pins=pins, board_name=board), folder)).image


def zeroed_chip(image: bytes, name: str) -> EmulatedChip:
    """Return our chip at power-on, registers and RAM zero instead of noise."""
    chip = EmulatedChip(image, 16e6, [], name)
    chip._state.memory[:32] = 0
    chip._state.memory[chip.ram_start :] = 0
    assert chip._state.scalar[state.CYCLE] == 0
    return chip
