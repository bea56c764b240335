"""The chip's registers: where they are, what they are called, how each is modelled.

Read from ``atmega328p.toml``, which names its source. Addresses are data-space
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

N_ADDRESS = 0x100
"""Registers and I/O lie below, RAM from here on."""


@dataclass(frozen=True)
class ChipMap:
    """Memories [byte], vectors and registers of one chip."""

    name: str
    flash: int
    ram: int
    eeprom: int
    n_vector: int
    vector: dict[str, int]
    """Number of each modelled interrupt, counted from 0 at the reset vector."""
    address: dict[str, int]
    rules: NDArray[np.int64]
    """(3, N_ADDRESS) for each address: MODEL, how it is modelled (UNMODELLED, PLAIN, OFF or MODELLED);
    HARMLESS, the bits that may be written as ones to what is OFF; AFTER_RESET, its value after a reset."""

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
        ram=entries["ram"],
        eeprom=entries["eeprom"],
        n_vector=entries["n_vector"],
        vector=dict(entries["vectors"]),
        address={register["name"]: register["address"] for register in entries["register"]},
        rules=rules,
    )


ATMEGA328P = _load("atmega328p.toml")

# What the compiled core refers to must be module constants: it takes them in when it is compiled.
_ADDRESS = ATMEGA328P.address
PINB = _ADDRESS["PINB"]
DDRB = _ADDRESS["DDRB"]
PORTB = _ADDRESS["PORTB"]
PORTD = _ADDRESS["PORTD"]
TIFR0 = _ADDRESS["TIFR0"]
TCCR0A = _ADDRESS["TCCR0A"]
TCCR0B = _ADDRESS["TCCR0B"]
TCNT0 = _ADDRESS["TCNT0"]
OCR0A = _ADDRESS["OCR0A"]
OCR0B = _ADDRESS["OCR0B"]
TIMSK0 = _ADDRESS["TIMSK0"]
TIFR2 = _ADDRESS["TIFR2"]
PCIFR = _ADDRESS["PCIFR"]
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

VECTOR_WATCHDOG = ATMEGA328P.vector["watchdog"]
VECTOR_TIMER1_COMPARE_A = ATMEGA328P.vector["timer1_compare_a"]
VECTOR_TIMER1_COMPARE_B = ATMEGA328P.vector["timer1_compare_b"]
VECTOR_TIMER1_OVERFLOW = ATMEGA328P.vector["timer1_overflow"]
VECTOR_TIMER0_COMPARE_A = ATMEGA328P.vector["timer0_compare_a"]
VECTOR_TIMER0_COMPARE_B = ATMEGA328P.vector["timer0_compare_b"]
VECTOR_TIMER0_OVERFLOW = ATMEGA328P.vector["timer0_overflow"]
VECTOR_EEPROM_READY = ATMEGA328P.vector["eeprom_ready"]
