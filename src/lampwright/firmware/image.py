"""What a built program takes up: flash, RAM, and each variable's place."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from elftools.elf.elffile import ELFFile
from elftools.elf.sections import SymbolTableSection
from intelhex import IntelHex

_RAM_OFFSET = 0x800000
"""Where GNU tools for AVR put data addresses, apart from program addresses (avr-libc, memory sections)."""
_EEPROM_OFFSET = 0x810000


@dataclass(frozen=True)
class RamSymbol:
    """One variable in RAM."""

    name: str
    address: int
    size: int  # [byte]
    section: str


def ram_map(elf: Path) -> tuple[RamSymbol, ...]:
    """Return the variables of a linked program by rising address."""
    with elf.open("rb") as stream:
        program = ELFFile(stream)
        symbols = [
            RamSymbol(
                _plain_name(symbol.name),
                symbol["st_value"] - _RAM_OFFSET,
                symbol["st_size"],
                program.get_section(symbol["st_shndx"]).name,
            )
            for table in program.iter_sections()
            if isinstance(table, SymbolTableSection)
            for symbol in table.iter_symbols()
            if symbol["st_info"]["type"] == "STT_OBJECT"
            and symbol["st_size"] > 0
            and _RAM_OFFSET <= symbol["st_value"] < _EEPROM_OFFSET
        ]
    return tuple(sorted(symbols, key=lambda symbol: (symbol.address, symbol.name)))


def variables_end(symbols: Sequence[RamSymbol]) -> int:
    """Return the first RAM address after all variables, from which the stack's room goes up to the top."""
    return max((symbol.address + symbol.size for symbol in symbols), default=0)


def _plain_name(name: str) -> str:
    """Return a file-local C++ variable's name as written: ``_ZL5ticks`` is ticks (Itanium C++ ABI, mangling)."""
    local = re.fullmatch(r"_ZL\d+(\w+)", name)
    return local.group(1) if local else name


def ram_bytes(elf: Path) -> int:
    """Return the RAM that variables take, set ones, cleared ones and kept ones. [byte]"""
    with elf.open("rb") as stream:
        return sum(
            int(section["sh_size"])
            for section in ELFFile(stream).iter_sections()
            if _RAM_OFFSET <= section["sh_addr"] < _EEPROM_OFFSET
        )


def flash_image(hex_file: Path) -> bytes:
    """Return the flash from address 0, as an Intel HEX file sets it; gaps are erased (0xFF)."""
    image = IntelHex(str(hex_file))
    image.padding = 0xFF
    return bytes(image.tobinarray(start=0))
