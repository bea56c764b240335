"""Small C++ programs, built by a compiler and run on the emulated chip; what they leave in RAM is the answer."""

from __future__ import annotations

from pathlib import Path

from lampwright.chip import EmulatedChip
from lampwright.firmware import Compiler
from lampwright.firmware.compiler import FLAGS
from lampwright.firmware.image import flash_image, ram_map

CLOCK_HZ = 16_000_000


class ChipProgram:
    """A program of one source file on a chip of its own, and the places of its variables."""

    def __init__(self, text: str, folder: Path, compiler: Compiler) -> None:
        (folder / "program.cpp").write_text(text, encoding="utf-8")
        built = compiler.compile(["-mmcu=atmega328p", *FLAGS, "program.cpp", "-o", "program.elf"], folder)
        assert built.is_done, built.text
        assert built.text == ""
        assert compiler.to_hex("program.elf", "program.hex", folder).is_done
        self._places = {symbol.name: symbol for symbol in ram_map(folder / "program.elf")}
        self.chip = EmulatedChip(flash_image(folder / "program.hex"), CLOCK_HZ, [])

    def run(self, cycles: int) -> None:
        """Go on."""
        self.chip.run(self.chip.cycle + cycles)

    def bytes_of(self, name: str) -> bytes:
        """Return a variable as it stands in RAM, the lowest byte first."""
        place = self._places[name]
        return self.chip.memory[place.address : place.address + place.size]

    def number(self, name: str) -> int:
        """Return a variable without a sign."""
        return int.from_bytes(self.bytes_of(name), "little")
