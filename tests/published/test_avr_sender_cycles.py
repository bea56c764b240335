"""The sender's pulses, added up by hand from the disassembled program.

Sources
-------
AVR instruction set manual, cycles on AVRe+ cores (from memory): OUT 1, NOP 1, RJMP 2, LD with post-increment 2,
SBIW 2, SBRS 1 (2 when it steps over one word), BREQ 1 when not taken.
WS2812B data sheet, data transfer time: T0H 0.40, T0L 0.85, T1H 0.80, T1L 0.45 µs, each ±150 ns; T0H + T0L and
T1H + T1L 1.25 µs ±600 ns; data format: 24 bits, the most significant first.
The disassembly is GNU binutils' own; nothing of the emulator or of the program's cycle tables is used.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from lampwright.firmware import build, write_firmware
from lampwright.layout.model import CircuitLayout, RunLayout
from lampwright.look import Places, compile_look, read_look
from lampwright.parts import Board, Pack, Strip, find
from lampwright.piece.model import Circuit, Ending, Run
from lampwright.show.model import CircuitShow, CueProgram, Indicator, Limiter

CYCLES = {"out": 1, "nop": 1, "ld": 2, "sbiw": 2, "breq": 1, "rjmp": 2}
CLOCK = 16e6


def one_pixel_show() -> CircuitShow:
    strip, board = find(Strip, "ws2812b-60"), find(Board, "m328p-16mhz-crystal")
    run = Run("strip", "PD6", strip, ())
    circuit = Circuit("arch 1", 0, find(Pack, "pack-10ah-2a"), board, 1.6, (run,))
    along = np.array([0.5 / 60])
    layout = CircuitLayout(circuit, (RunLayout(run, 0, 1, ()),), np.zeros((1, 3)), along)
    look = read_look('"""White."""\ncolour = light(1, 1, 1)', "white", "white.look")
    program = compile_look(look, {}, Places(along, np.zeros((1, 3)), 0), 0.025, 100, drive=1.0)
    limiter = Limiter((2000, 2000, 2000), 1 << 30)
    cue = CueProgram(program, 0, 100, 0)
    return CircuitShow(layout, 25, 0, 100, Ending.REPEAT, (cue,), Indicator((0,), (1, 1, 1)), limiter, (1, 0, 2))


@pytest.fixture(scope="module")
def sender(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, str]]:
    """Return (instruction, operands) of one byte's sending, from the first rise to the jump back."""
    built = build(write_firmware(one_pixel_show(), Path(tmp_path_factory.mktemp("sender"))))
    text = subprocess.run(["avr-objdump", "-d", str(built.elf)], check=True, capture_output=True, text=True).stdout
    lines = re.findall(r"^ +[0-9a-f]+:\t(?:[0-9a-f]{2} )+ *\t(\w+)\t?([^;\n]*)", text, re.MULTILINE)
    code = [(name, operands.strip()) for name, operands in lines]
    first_test = next(i for i, (name, operands) in enumerate(code) if name == "sbrs" and operands.endswith(", 7"))
    start = max(i for i in range(first_test) if code[i][0] == "out")
    end = next(i for i in range(start, len(code)) if code[i][0] == "breq") + 1
    assert code[end][0] == "rjmp"
    return code[start : end + 1]


def levels(sender: list[tuple[str, str]], byte: int) -> Iterator[tuple[int, str]]:
    """Yield (cycle, register) of each OUT while a byte is sent, and of the first OUT of the next byte."""
    cycle, at = 0, 0
    while at < len(sender):
        name, operands = sender[at]
        if name == "sbrs":
            is_one = byte >> int(operands.split(",")[1]) & 1
            cycle, at = cycle + 1 + is_one, at + 1 + is_one
            continue
        cycle, at = cycle + CYCLES[name], at + 1
        if name == "out":
            yield cycle, operands
    yield cycle + CYCLES["out"], sender[0][1]


@pytest.mark.parametrize("byte", [0x00, 0xFF, 0xA5, 0x01, 0x80])
def test_every_bit_of_a_byte_meets_the_data_sheet_and_the_next_byte_follows_in_time(
    sender: list[tuple[str, str]], byte: int
) -> None:
    outs = list(levels(sender, byte))
    high = sender[0][1]
    rises = [cycle for cycle, register in outs if register == high]
    falls = [min(c for c, register in outs if register != high and c > rise) for rise in rises[:-1]]
    assert len(falls) == 8
    for bit, (rise, fall, next_rise) in enumerate(zip(rises, falls, rises[1:], strict=False)):
        is_one = byte >> (7 - bit) & 1
        high_us, low_us = (fall - rise) / CLOCK * 1e6, (next_rise - fall) / CLOCK * 1e6
        assert high_us == pytest.approx(0.80 if is_one else 0.40, abs=0.150)
        assert low_us == pytest.approx(0.45 if is_one else 0.85, abs=0.150)
        assert high_us + low_us == pytest.approx(1.25, abs=0.600)


def test_24_bits_take_30_microseconds(sender: list[tuple[str, str]]) -> None:
    outs = list(levels(sender, 0x5A))
    assert 3 * (outs[-1][0] - outs[0][0]) / CLOCK == pytest.approx(30e-6)
