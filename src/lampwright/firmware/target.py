"""What the firmware has to know of the chip that it is written for."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from lampwright.parts.model import Board
from lampwright.units.errors import MakerError, Problem


@dataclass(frozen=True)
class BrownOutLevel:
    """One setting of the brown-out fuse: its three bits, and the level it may lie at. [V]"""

    bits: int
    least: float
    typical: float


@dataclass(frozen=True)
class Port:
    """An I/O port: where its output register is for ``out``, and which bits have a pin free to use."""

    letter: str
    io_address: int
    usable: int


@dataclass(frozen=True)
class Target:
    """A chip that this package writes firmware for."""

    name: str
    compiler_name: str
    flasher_name: str
    ports: tuple[Port, ...]
    """Those that ``out`` reaches, which a data line needs."""
    far_ports: tuple[str, ...]
    """Letters of those that it doesn't: no data line there."""
    clocks_off: tuple[tuple[str, tuple[str, ...]], ...]
    """Power reduction registers, and the bits that switch off all clocks but timer 1's."""
    high_fuse_meaning: str
    brown_out_levels: tuple[BrownOutLevel, ...]
    startup_cycles: int
    """From a reset to the first instruction, with the fuses of :mod:`lampwright.firmware.fuses`."""
    speed_grade: tuple[tuple[float, float], ...]
    """(clock [Hz], least supply [V]), straight lines between."""
    extended_fuse_also: str = ""
    """What the extended fuse says beside the brown-out level."""

    def port(self, letter: str) -> Port:
        """Return the port with this letter."""
        return next(port for port in self.ports if port.letter == letter)

    def supply_needed(self, clock: float) -> float:
        """Return the least supply at which the chip may run at this clock. [V]"""
        grade = self.speed_grade
        if clock <= grade[0][0]:
            return grade[0][1]
        for (slow, low), (fast, high) in itertools.pairwise(grade):
            if clock <= fast:
                return low + (clock - slow) / (fast - slow) * (high - low)
        return float("inf")


ATMEGA328P = Target(
    name="ATmega328P",
    compiler_name="atmega328p",
    flasher_name="m328p",
    # I/O addresses: ATmega328P datasheet, register summary, checked in the headers of avr-libc.
    # PB6 and PB7 carry the crystal, PC6 is the reset pin.
    ports=(Port("B", 0x05, 0x3F), Port("C", 0x08, 0x3F), Port("D", 0x0B, 0xFF)),
    far_ports=(),
    clocks_off=(("PRR", ("PRTWI", "PRTIM2", "PRTIM0", "PRSPI", "PRUSART0", "PRADC")),),
    high_fuse_meaning="programming over the six-pin header stays on, reset pin stays a reset pin, no boot loader",
    # ATmega328P datasheet, BODLEVEL fuse coding (bits from memory; levels as excerpted)
    brown_out_levels=(
        BrownOutLevel(0b110, 1.7, 1.8),
        BrownOutLevel(0b101, 2.5, 2.7),
        BrownOutLevel(0b100, 4.1, 4.3),
    ),
    # ATmega328P datasheet, crystal oscillator, brown-out detector on: 16K CK, then 14 CK (from memory)
    startup_cycles=16384 + 14,
    # ATmega328P datasheet, maximum frequency against supply
    speed_grade=((4e6, 1.8), (10e6, 2.7), (20e6, 4.5)),
)

_NO_JTAG = "programming over the six-pin header stays on, JTAG is off and leaves its pins free, no boot loader"

ATMEGA2560 = Target(
    name="ATmega2560",
    compiler_name="atmega2560",
    flasher_name="m2560",
    # I/O addresses: ATmega2560 datasheet, register summary, checked in the headers of avr-libc
    ports=(
        *(Port("A", 0x02, 0xFF), Port("B", 0x05, 0xFF), Port("C", 0x08, 0xFF), Port("D", 0x0B, 0xFF)),
        *(Port("E", 0x0E, 0xFF), Port("F", 0x11, 0xFF), Port("G", 0x14, 0x3F)),
    ),
    far_ports=("H", "J", "K", "L"),
    clocks_off=(
        ("PRR0", ("PRTWI", "PRTIM2", "PRTIM0", "PRSPI", "PRUSART0", "PRADC")),
        ("PRR1", ("PRTIM5", "PRTIM4", "PRTIM3", "PRUSART3", "PRUSART2", "PRUSART1")),
    ),
    high_fuse_meaning=_NO_JTAG,
    # ATmega2560 datasheet, BODLEVEL fuse coding (from memory)
    brown_out_levels=(
        BrownOutLevel(0b110, 1.7, 1.8),
        BrownOutLevel(0b101, 2.5, 2.7),
        BrownOutLevel(0b100, 4.1, 4.3),
    ),
    # ATmega2560 datasheet, crystal oscillator, brown-out detector on: 16K CK, then 14 CK (from memory)
    startup_cycles=16384 + 14,
    # ATmega2560 datasheet, speed grades: 8 MHz from 2.7 V, 16 MHz from 4.5 V (from memory)
    speed_grade=((8e6, 2.7), (16e6, 4.5)),
)

ATMEGA32U4 = Target(
    name="ATmega32U4",
    compiler_name="atmega32u4",
    flasher_name="m32u4",
    # I/O addresses: ATmega32U4 datasheet, register summary, checked in the headers of avr-libc
    ports=(
        *(Port("B", 0x05, 0xFF), Port("C", 0x08, 0xC0), Port("D", 0x0B, 0xFF)),
        *(Port("E", 0x0E, 0x44), Port("F", 0x11, 0xF3)),
    ),
    far_ports=(),
    # USB is left as a reset leaves it: switched off
    clocks_off=(("PRR0", ("PRTWI", "PRTIM0", "PRSPI", "PRADC")), ("PRR1", ("PRTIM3", "PRUSART1"))),
    high_fuse_meaning=_NO_JTAG,
    # ATmega32U4 datasheet, BODLEVEL fuse coding (from memory)
    brown_out_levels=(
        BrownOutLevel(0b110, 1.8, 2.0),
        BrownOutLevel(0b101, 2.0, 2.2),
        BrownOutLevel(0b100, 2.2, 2.4),
        BrownOutLevel(0b011, 2.4, 2.6),
        BrownOutLevel(0b010, 3.2, 3.4),
        BrownOutLevel(0b001, 3.3, 3.5),
        BrownOutLevel(0b000, 4.1, 4.3),
    ),
    # ATmega32U4 datasheet, crystal oscillator, brown-out detector on: 16K CK, then 14 CK (from memory)
    startup_cycles=16384 + 14,
    # ATmega32U4 datasheet, maximum speed: 8 MHz at 2.7 V, 16 MHz at 4.5 V, linear between (from memory)
    speed_grade=((8e6, 2.7), (16e6, 4.5)),
    # ATmega32U4 datasheet, extended fuse: HWBE, by which PE2 low at a reset starts the boot loader (from memory)
    extended_fuse_also="; PE2 no longer calls the boot loader",
)

_TARGETS = {"atmega328p": ATMEGA328P, "atmega2560": ATMEGA2560, "atmega32u4": ATMEGA32U4}


def target_of(board: Board, circuit: str) -> Target:
    """Return the chip of a board.

    Raises
    ------
    MakerError
        FIRMWARE-004, the chip isn't one of ours or its clock is beyond the chip's.
    """
    target = _TARGETS.get(board.chip)
    if target is None:
        problem = Problem(
            "FIRMWARE-004",
            f'no firmware can be written for the chip of circuit "{circuit}"',
            f'"{board.chip}" on board "{board.name}"',
            ", ".join(f'"{name}"' for name in _TARGETS),
            "choose a board with one of these chips",
        )
        raise MakerError([problem])
    if board.supply.value < target.supply_needed(board.clock.value):
        needed = target.supply_needed(board.clock.value)
        problem = Problem(
            "FIRMWARE-004",
            f'the board of circuit "{circuit}" is clocked faster than its supply allows',
            f"{board.clock.value / 1e6:g} MHz at {board.supply.value:g} V",
            f"at least {needed:.2f} V at this clock"
            if needed < 10
            else f"{target.speed_grade[-1][0] / 1e6:g} MHz at most",
            "choose a slower clock or a higher supply",
        )
        raise MakerError([problem])
    return target
