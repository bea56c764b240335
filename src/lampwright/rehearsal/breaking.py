"""What each fault does to a chip."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lampwright.chip import EmulatedChip, ResetCause
from lampwright.rehearsal.faults import SPOILS_CLOCK, SPOILS_EEPROM, Fault

LOST_BYTES = (0.0, 0.01, 0.3)
"""Share of RAM that a short loss of power spoils, one of these."""

SAG_RESETS = (3, 13)
"""A supply that sags through the brown-out level resets the chip so many times, the second left out."""

SAG_GAP = (0.0015, 0.2)
"""Between two of these resets, shorter ones as likely as longer ones by their ratio. [s]"""


@dataclass(frozen=True)
class Damage:
    """What was done to a chip."""

    resets: tuple[int, ...]
    """Cycles at which it was reset or hung, the fault's own first."""
    spoiled: bytes = b""
    """Which bits were turned over in each byte of the kept clock, if any was."""

    @property
    def are_both_slots_spoiled(self) -> bool:
        """Whether no slot of the kept clock is whole any more."""
        half = len(self.spoiled) // 2
        return any(self.spoiled[:half]) and any(self.spoiled[half:])


def break_chip(chip: EmulatedChip, fault: Fault, kept_clock: range | None, dice: np.random.Generator) -> Damage:
    """Do to the chip what the fault does. A sagging supply takes its time, all others happen at once."""
    at = (chip.cycle,)
    if fault is Fault.HANG:
        chip.hang()
    elif fault is Fault.RESET_BUTTON:
        chip.reset(ResetCause.EXTERNAL)
    elif fault is Fault.POWER_LOSS:
        chip.reset(ResetCause.POWER_ON)
    elif fault is Fault.POWER_BLINK:
        return Damage(at, _blink(chip, kept_clock, dice))
    elif fault in SPOILS_EEPROM:
        chip.write_eeprom(0, _eeprom_content(fault, len(chip.eeprom), dice))
        chip.reset(ResetCause.POWER_ON)
    elif fault is Fault.SAG:
        return Damage(_sag(chip, dice))
    else:
        spoiled = _spoil(chip, fault, kept_clock, dice)
        chip.reset(ResetCause.BROWN_OUT)
        return Damage(at, spoiled)
    return Damage(at)


def _sag(chip: EmulatedChip, dice: np.random.Generator) -> tuple[int, ...]:
    """Reset the chip again and again, as a supply does that is at the brown-out level; return when."""
    n_reset = int(dice.integers(*SAG_RESETS))
    shortest, longest = (math.log(gap) for gap in SAG_GAP)
    gaps = np.exp(dice.uniform(shortest, longest, n_reset - 1))
    chip.reset(ResetCause.BROWN_OUT)
    resets = [chip.cycle]
    for gap in gaps:
        chip.run(resets[-1] + round(gap * chip.clock_hz))
        resets.append(chip.cycle)
        chip.reset(ResetCause.BROWN_OUT)
    return tuple(resets)


def _blink(chip: EmulatedChip, kept_clock: range | None, dice: np.random.Generator) -> bytes:
    """Lose power so shortly that RAM is lost in part; return which bits of the kept clock were."""
    n_ram = chip.ram_size
    kept = np.frombuffer(chip.read_ram(chip.ram_start, n_ram), np.uint8)
    chip.reset(ResetCause.POWER_ON)
    noise = np.frombuffer(chip.read_ram(chip.ram_start, n_ram), np.uint8)
    is_lost = dice.random(n_ram) < dice.choice(LOST_BYTES)
    after = np.where(is_lost, noise, kept)
    chip.write_ram(chip.ram_start, after.tobytes())
    if kept_clock is None:
        return b""
    clock = slice(kept_clock.start - chip.ram_start, kept_clock.stop - chip.ram_start)
    turned: bytes = (after ^ kept)[clock].tobytes()
    return turned


def _eeprom_content(fault: Fault, n_byte: int, dice: np.random.Generator) -> bytes:
    if fault is Fault.EEPROM_ONES:
        return b"\xff" * n_byte
    if fault is Fault.EEPROM_ZEROS:
        return bytes(n_byte)
    return dice.bytes(n_byte)


def _spoil(chip: EmulatedChip, fault: Fault, kept_clock: range | None, dice: np.random.Generator) -> bytes:
    """Change bytes of the kept clock; return which bits of it were turned over."""
    if fault not in SPOILS_CLOCK or kept_clock is None:
        return b""
    size = len(kept_clock)
    where = np.arange(size)
    if fault is Fault.ONE_SLOT:
        where = where[: size // 2] + int(dice.integers(2)) * (size // 2)
    elif fault is Fault.SOME_BYTES:
        where = dice.choice(where, int(dice.integers(1, 5)), replace=False)
    turned = np.zeros(size, np.uint8)
    turned[where] = dice.integers(1, 256, len(where), dtype=np.uint8)
    data = np.frombuffer(chip.read_ram(kept_clock.start, size), np.uint8)
    chip.write_ram(kept_clock.start, (data ^ turned).tobytes())
    spoiled: bytes = turned.tobytes()
    return spoiled
