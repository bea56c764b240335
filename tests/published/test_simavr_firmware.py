"""A whole firmware of ours on the emulated core and on an independent emulator, for ten million instructions.

Source: simavr 1.6 (Debian package libsimavr-dev), a general-purpose emulator of AVR chips. Two of its habits
are settled from the datasheets (from memory) in follow.c. "Interrupt Response Time": it enters an interrupt in
no time, the chips in four cycles, five with a program counter of 22 bits, and four more out of sleep.
"Timer/Counter Prescalers": it starts the prescaler with the timer, on the chips it runs free from the reset on.
Where in its period the prescaler stands when the program begins (at 0, as ours has it) is from memory only: no
emulator at hand models it, so that the moment of a match to within one period of 8 cycles is checked by none.
This firmware writes no EEPROM and sleeps in idle mode only, so that nothing else had to be settled.
"""

from __future__ import annotations

import struct
import subprocess
from pathlib import Path

import pytest

from lampwright.chip import EmulatedChip
from tests.published.followed import BETWEEN, BOARDS, WAKING, followed_image, zeroed_chip

N_INSTRUCTION = 10_000_000
TELLING = struct.Struct("<IQHB32sQ")


@pytest.fixture(scope="module")
def follow(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Compile the harness around the reference emulator."""
    program = tmp_path_factory.mktemp("simavr") / "follow"
    source = Path(__file__).with_name("follow.c")
    command = ["gcc", "-O2", "-o", str(program), str(source), "-lsimavr", "-lelf"]
    outcome = subprocess.run(command, capture_output=True, text=True, check=False)
    assert outcome.returncode == 0, f"`make test` installs what the reference needs\n{outcome.stderr}"
    return program


def fnv(data: bytes) -> int:
    """Return the 64-bit FNV-1a hash."""
    value = 0xCBF29CE484222325
    for byte in data:
        value = (value ^ byte) * 0x100000001B3 & 0xFFFFFFFFFFFFFFFF
    return value


def state_of(chip: EmulatedChip) -> tuple[int, int, int, int, bytes, int]:
    """Return what the reference tells."""
    memory = chip.memory
    return (
        chip.program_address,
        chip.cycle,
        chip.stack_pointer,
        chip.status_register,
        memory[:32],
        fnv(memory[chip.ram_start : chip.ram_start + chip.ram_size]),
    )


@pytest.mark.slow
@pytest.mark.parametrize("name", BOARDS)
def test_our_firmware_takes_the_same_path_in_the_same_cycles(name: str, follow: Path, tmp_path: Path) -> None:
    _, _, number, entry = BOARDS[name]
    image = followed_image(name, tmp_path)
    flash = tmp_path / "flash.bin"
    flash.write_bytes(image)
    told = subprocess.run(
        [follow, name, flash, str(4 * number), str(entry), str(WAKING), str(N_INSTRUCTION), str(BETWEEN)],
        capture_output=True,
        check=True,
    ).stdout
    tellings = list(TELLING.iter_unpack(told))
    assert len(tellings) > 0.99 * N_INSTRUCTION / BETWEEN
    chip = zeroed_chip(image, name)
    for index, expected in enumerate(tellings):
        chip.run(expected[1])
        assert state_of(chip) == expected, f"after {(index + 1) * BETWEEN} instructions"
