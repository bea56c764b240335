"""Fuse settings and the avrdude commands that bring firmware to the chip.

Datasheets of the chips, fuse bytes, from memory: a programmed fuse reads 0.
"""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.firmware.target import BrownOutLevel, Target
from lampwright.parts.model import Board
from lampwright.units.errors import MakerError, Problem

_FULL_SWING_FROM = 16e6
"""Above this clock the low-power oscillator isn't specified. [Hz]"""


@dataclass(frozen=True)
class Fuses:
    """The three fuse bytes and what each says."""

    low: int
    high: int
    extended: int
    low_meaning: str
    high_meaning: str
    extended_meaning: str


def fuses_for(board: Board, target: Target, circuit: str) -> Fuses:
    """Return the fuses for a board's clock and brown-out level.

    Raises
    ------
    MakerError
        FIRMWARE-006, the level isn't one of the chip's, or a higher one would guard the supply that
        the clock needs.
    """
    levels = target.brown_out_levels
    needed = target.supply_needed(board.clock.value)
    # A clock beyond what even the highest level guards runs with that one; FLASHING.md says so.
    workable = [each for each in levels if each.least >= needed] or [levels[-1]]
    level = next((each for each in workable if abs(each.typical - board.brown_out.value) < 0.05), None)
    if level is None:
        problem = Problem(
            "FIRMWARE-006",
            f'the brown-out level of circuit "{circuit}" doesn\'t protect its chip',
            f"{board.brown_out.value:g} V",
            f"{', '.join(f'{each.typical:g} V' for each in workable)} "
            f"(at {board.clock.value / 1e6:g} MHz the chip needs {needed:.2f} V)",
            f'write brown_out = "{workable[-1].typical:g} V"',
        )
        raise MakerError([problem])
    # Low byte, bit by bit: CKDIV8 off, CKOUT off, SUT1:0 = 01, CKSEL3:0. With CKSEL0 = 1, SUT 01 is the
    # start-up for a crystal whose supply the brown-out detector watches: 16K cycles and no fixed delay, which
    # a resonator needs less of but takes no harm from.
    is_full_swing = board.clock.value > _FULL_SWING_FROM
    low = 0b11_01_0111 if is_full_swing else 0b11_01_1111
    oscillator = "full-swing crystal oscillator" if is_full_swing else "crystal or resonator from 8 to 16 MHz"
    return Fuses(
        low=low,
        # RSTDISBL and DWEN off (OCDEN and JTAGEN on the larger chips), SPIEN on, WDTON off, EESAVE off,
        # BOOTSZ 00, BOOTRST off
        high=0b1101_1001,
        # bit 3 is HWBE of the ATmega32U4: off
        extended=0b1111_1000 | level.bits,
        low_meaning=f"{oscillator}, whole clock (not divided by 8), 16K cycles to start up",
        high_meaning=target.high_fuse_meaning,
        extended_meaning=f"brown-out detector at {level.typical:g} V{_gap(level, needed)}{target.extended_fuse_also}",
    )


def _gap(level: BrownOutLevel, needed: float) -> str:
    """Return a warning when the level leaves a band in which the chip runs below what its clock needs."""
    if level.least >= needed:
        return ""
    return f", the highest there is: from {needed:.2f} V down to {level.least:g} V the chip is not protected"


PROGRAMMER = "avrdude -c PROGRAMMER -P PORT -p {part}"
"""Every command's beginning; the maker fills in programmer and port."""


@dataclass(frozen=True)
class FlashCommands:
    """avrdude's options for each step, the programmer's own left out."""

    part: str
    read: str
    fuse: str
    flash: str
    verify: str

    def spoken(self) -> dict[str, str]:
        """Return each step's whole command, to be shown to the maker."""
        start = PROGRAMMER.format(part=self.part)
        return {step: f"{start} {getattr(self, step)}" for step in ("read", "fuse", "flash", "verify")}


def flash_commands(target: Target, fuses: Fuses, hex_name: str) -> FlashCommands:
    """Return avrdude's options for a chip with these fuses; ``hex_name`` is relative to the source folder."""
    return FlashCommands(
        part=target.flasher_name,
        read="-B 8 -U flash:r:before.hex:i -U lfuse:r:-:h -U hfuse:r:-:h -U efuse:r:-:h",
        fuse=f"-B 8 -U lfuse:w:0x{fuses.low:02X}:m -U hfuse:w:0x{fuses.high:02X}:m -U efuse:w:0x{fuses.extended:02X}:m",
        flash=f"-B 8 -U flash:w:{hex_name}:i",
        verify=f"-B 8 -U flash:v:{hex_name}:i",
    )
