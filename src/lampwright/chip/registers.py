"""The chip's registers: where they are, what they are called, how each is modelled.

Read from a file for each chip, which names its source. Addresses are data-space
addresses (an ``in`` or ``out`` address plus 0x20).
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

UNMODELLED, PLAIN, OFF, MODELLED = range(4)
MODEL, HARMLESS, AFTER_RESET = range(3)
_MODELS = {"unmodelled": UNMODELLED, "plain": PLAIN, "off": OFF, "modelled": MODELLED}

N_ADDRESS = 0x200
"""Registers and I/O lie below on every chip; RAM begins here or earlier."""

PORT_LETTERS = "ABCDEFGHJKL"

LOWEST_EXTENDED = 0x60
"""From here on, registers are out of reach of ``in`` and ``out``."""


@dataclass(frozen=True)
class ChipMap:
    """Memories [byte], vectors and registers of one chip."""

    name: str
    flash: int
    ram_start: int
    ram: int
    eeprom: int
    n_vector: int
    vector: dict[str, int]
    """Number of each modelled interrupt, counted from 0 at the reset vector."""
    address: dict[str, int]
    is_wide: bool
    """Whether the program counter takes three bytes on the stack instead of two."""
    has_match_c: bool
    """Whether Timer1 has a third compare match."""
    pins: dict[str, int]
    """For each port, by its letter, the bits that have a pin."""
    low_pins: dict[str, int]
    """Bits that always read as low: the crystal is on them."""
    high_pins: dict[str, int]
    """Bits that are pulled high from inside: the reset pin."""
    input_off: dict[str, tuple[str, int]]
    """For DIDR0 and DIDR1 where they are modelled: port, and where bit 0 lies in it."""
    rules: NDArray[np.int64]
    """(3, N_ADDRESS) for each address: MODEL, how it is modelled (UNMODELLED, PLAIN, OFF or MODELLED);
    HARMLESS, the bits that may be written as ones to what is OFF; AFTER_RESET, its value after a reset."""

    @property
    def ram_end(self) -> int:
        """Highest RAM address."""
        return self.ram_start + self.ram - 1

    @property
    def port_addresses(self) -> frozenset[int]:
        """Where the PORT registers are that ``out`` reaches."""
        places = (self.address[f"PORT{letter}"] for letter in self.pins)
        return frozenset(place for place in places if place < LOWEST_EXTENDED)

    def data_pins(self, letter: str) -> int:
        """Return a port's bits that a data line can be on; 0 where there is no such port."""
        taken = self.low_pins.get(letter, 0) | self.high_pins.get(letter, 0)
        return self.pins.get(letter, 0) & ~taken

    def name_of(self, address: int) -> str:
        """Return the register's name, or say that there is none."""
        found = next((name for name, where in self.address.items() if where == address), None)
        return f"{found} ({address:#04x})" if found else f"{address:#06x}, where this chip has nothing"


def _load(file: str) -> ChipMap:
    entries = tomllib.loads(files("lampwright.chip").joinpath(file).read_text(encoding="utf-8"))
    rules = np.zeros((3, N_ADDRESS), np.int64)
    for register in entries["register"]:
        address = register["address"]
        rules[MODEL, address] = _MODELS[register["model"]]
        rules[HARMLESS, address] = register.get("harmless", 0)
        rules[AFTER_RESET, address] = register.get("reset", 0)
    return ChipMap(
        name=entries["name"],
        flash=entries["flash"],
        ram_start=entries["ram_start"],
        ram=entries["ram"],
        eeprom=entries["eeprom"],
        n_vector=entries["n_vector"],
        vector=dict(entries["vectors"]),
        is_wide=entries["program_counter_bytes"] == 3,
        has_match_c=entries["has_match_c"],
        pins=dict(entries["pins"]),
        low_pins=dict(entries.get("low_pins", {})),
        high_pins=dict(entries.get("high_pins", {})),
        input_off={name: (at["port"], at["shift"]) for name, at in entries.get("input_off", {}).items()},
        address={register["name"]: register["address"] for register in entries["register"]},
        rules=rules,
    )


ATMEGA328P = _load("atmega328p.toml")
ATMEGA2560 = _load("atmega2560.toml")
ATMEGA32U4 = _load("atmega32u4.toml")
CHIPS = {chip.name.lower(): chip for chip in (ATMEGA328P, ATMEGA2560, ATMEGA32U4)}

# What the compiled core refers to must be module constants: it takes them in when it is compiled.
# They lie at the same place in all chips, which a test makes sure of; the first chip's PRR is PRR0 of the others.
_ADDRESS = ATMEGA2560.address | ATMEGA328P.address
PINA = _ADDRESS["PINA"]
PORTG = _ADDRESS["PORTG"]
RAMPZ = _ADDRESS["RAMPZ"]
EIND = _ADDRESS["EIND"]
TIFR0 = _ADDRESS["TIFR0"]
TCCR0A = _ADDRESS["TCCR0A"]
TCCR0B = _ADDRESS["TCCR0B"]
TCNT0 = _ADDRESS["TCNT0"]
OCR0A = _ADDRESS["OCR0A"]
OCR0B = _ADDRESS["OCR0B"]
TIMSK0 = _ADDRESS["TIMSK0"]
EIFR = _ADDRESS["EIFR"]
TIFR1 = _ADDRESS["TIFR1"]
EECR = _ADDRESS["EECR"]
EEDR = _ADDRESS["EEDR"]
EEARL = _ADDRESS["EEARL"]
EEARH = _ADDRESS["EEARH"]
GTCCR = _ADDRESS["GTCCR"]
ACSR = _ADDRESS["ACSR"]
SMCR = _ADDRESS["SMCR"]
MCUSR = _ADDRESS["MCUSR"]
MCUCR = _ADDRESS["MCUCR"]
SPL = _ADDRESS["SPL"]
SPH = _ADDRESS["SPH"]
SREG = _ADDRESS["SREG"]
WDTCSR = _ADDRESS["WDTCSR"]
CLKPR = _ADDRESS["CLKPR"]
PRR = _ADDRESS["PRR"]
TIMSK1 = _ADDRESS["TIMSK1"]
DIDR0 = _ADDRESS["DIDR0"]
DIDR1 = _ADDRESS["DIDR1"]
TCCR1B = _ADDRESS["TCCR1B"]
TCNT1L = _ADDRESS["TCNT1L"]
TCNT1H = _ADDRESS["TCNT1H"]
OCR1AL = _ADDRESS["OCR1AL"]
OCR1AH = _ADDRESS["OCR1AH"]
OCR1BL = _ADDRESS["OCR1BL"]
OCR1BH = _ADDRESS["OCR1BH"]
