"""The emulated microcontroller: a chip that runs a firmware image and listens to its own pins."""

from __future__ import annotations

import copy
import hashlib
import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lampwright.chip import state
from lampwright.chip.bench import BenchStoppedError, Frames, Line, LineReport, ResetCause, TimingBreach
from lampwright.chip.core import run_chip
from lampwright.chip.decode import decode_program
from lampwright.chip.interrupts import DRAINING, STOPPED
from lampwright.chip.reasons import reason_text
from lampwright.chip.registers import CHIPS, EEARH, EEARL, PORT_LETTERS, SPH, SPL, SREG, ChipMap
from lampwright.chip.snapshot import Snapshot, TakenFrames, put_back, take_snapshot, twin
from lampwright.chip.state import Bytes, ChipState

WATCHDOG_HZ = 128e3  # [Hz] ATmega328P datasheet, watchdog timer (from memory)
WATCHDOG_SHORTEST = 2048  # [oscillator cycle] as above
N_WATCHDOG_SETTING = 10
EEPROM_WRITE = 3.4e-3  # [s] erase and write of a byte; ATmega328P datasheet, EEPROM (from memory)
EEPROM_HALF = 1.8e-3  # [s] an erase only or a write only; as above
WAKE_UP_CYCLES = 16384  # [cycle] crystal, slowly rising power: 16K CK out of power-down (from memory)

_CAUSE_BITS = {
    ResetCause.POWER_ON: 0x01,
    ResetCause.EXTERNAL: 0x02,
    ResetCause.BROWN_OUT: 0x04,
    ResetCause.WATCHDOG: 0x08,
}
"""Bits of MCUSR."""

_SPECK = 1e-6
"""Part of a cycle by which a window's edge may be missed: rounding of seconds. [cycle]"""

_OPEN_BYTES, _FINISHED_FRAMES, _FINISHED_BYTES = 4096, 8192, 1 << 20
"""Sizes of the buffers to begin with."""


class EmulatedChip:
    """An emulated chip; see :class:`lampwright.chip.bench.Bench` for what it can be asked.

    Parameters
    ----------
    firmware : bytes
        Flash image from address 0; the rest of the flash is erased.
    clock_hz : float
        Nominal core clock. [Hz]
    lines : sequence of Line
        Data lines to listen to.
    chip : str
        "atmega328p", "atmega2560" or "atmega32u4".
    clock_error : float
        By how much the crystal or resonator runs fast; 0.005 is 0.5 % fast. Cycles are counted as ever, but
        a second has more of them: the line's windows, the watchdog and EEPROM writes, whose oscillators are
        their own, take so many more cycles.
    watchdog_error : float
        By how much of its nominal length a watchdog time-out is longer; 0.1 is 10 % late.
    start_up : float
        Time from a reset to the first instruction, which the fuses set. [s]
    wake_up_cycles : int
        Start-up of the oscillator out of power-down. [cycle]
    eeprom : bytes
        What the EEPROM holds from address 0; the rest is erased.
    noise_seed : int
        Seeds what RAM and the general registers hold at power-on.

    Raises
    ------
    ValueError
        Another chip, a firmware or EEPROM image that doesn't fit, or a line that isn't a pin.
    """

    def __init__(
        self,
        firmware: bytes,
        clock_hz: float,
        lines: Sequence[Line],
        chip: str = "atmega328p",
        *,
        clock_error: float = 0.0,
        watchdog_error: float = 0.0,
        start_up: float = 0.0,
        wake_up_cycles: int = WAKE_UP_CYCLES,
        eeprom: bytes = b"",
        noise_seed: int = 328,
    ) -> None:
        if chip.lower() not in CHIPS:
            known = ", ".join(f'"{name}"' for name in CHIPS)
            raise ValueError(f'only {known} can be emulated, not "{chip}"')
        self._map = CHIPS[chip.lower()]
        for what, image, size in (
            ("firmware", firmware, self._map.flash),
            ("EEPROM image", eeprom, self._map.eeprom),
        ):
            if len(image) > size:
                raise ValueError(f"{what} of {len(image)} bytes does not fit into {size}")
        self._clock_hz = clock_hz
        self._true_clock_hz = true_hz = clock_hz * (1 + clock_error)
        self._noise = np.random.default_rng(noise_seed)
        self._taken: list[TakenFrames] = []
        self._identity = _identify(self._map.name, firmware, true_hz, lines)
        self._state = _new_state(self._map, firmware, eeprom, lines, true_hz)
        scalar = self._state.scalar
        for setting in range(N_WATCHDOG_SETTING):
            seconds = (WATCHDOG_SHORTEST << setting) / WATCHDOG_HZ * (1 + watchdog_error)
            scalar[state.WATCHDOG_PERIOD + setting] = round(seconds * true_hz)
        scalar[state.EEPROM_WRITE] = round(EEPROM_WRITE * true_hz)
        scalar[state.EEPROM_HALF] = round(EEPROM_HALF * true_hz)
        scalar[state.START_UP] = round(start_up * clock_hz)
        scalar[state.WAKE_UP] = wake_up_cycles
        self.reset(ResetCause.POWER_ON)

    @property
    def clock_hz(self) -> float:
        """Nominal core clock. [Hz]"""
        return self._clock_hz

    @property
    def true_clock_hz(self) -> float:
        """Core clock as it is, with its error. [Hz]"""
        return self._true_clock_hz

    @property
    def cycle(self) -> int:
        """Cycles since power-on; goes on through resets."""
        return int(self._state.scalar[state.CYCLE])

    @property
    def program_address(self) -> int:
        """Where the next instruction lies. [flash byte]"""
        return 2 * int(self._state.scalar[state.PROGRAM_COUNTER])

    @property
    def longest_awake(self) -> int:
        """Longest stretch from waking up, or a reset, to falling asleep. [cycle]"""
        return int(self._state.scalar[state.LONGEST_AWAKE])

    @property
    def watchdog_resets(self) -> int:
        """How often the watchdog has reset the chip so far."""
        return int(self._state.scalar[state.N_WATCHDOG_RESET])

    @property
    def status_register(self) -> int:
        """SREG."""
        return int(self._state.memory[SREG])

    @property
    def stack_pointer(self) -> int:
        """SP."""
        return int(self._state.memory[SPL]) | int(self._state.memory[SPH]) << 8

    @property
    def lowest_stack(self) -> int:
        """Lowest SP so far, as of a push, a call, an interrupt or an ``out`` to SPL."""
        return int(self._state.scalar[state.LOWEST_STACK])

    def untouched_ram(self, variables_end: int) -> int:
        """Return how many bytes from ``variables_end``, the first address after all variables, no stack has reached."""
        return max(0, self.lowest_stack + 1 - variables_end)

    @property
    def ram_start(self) -> int:
        """Lowest RAM address. [byte]"""
        return self._map.ram_start

    @property
    def ram_size(self) -> int:
        """Size of the RAM. [byte]"""
        return self._map.ram

    @property
    def memory(self) -> bytes:
        """A copy of the data space from 0: 32 general registers, I/O registers, RAM.

        I/O registers of running timers hold what they held when last looked at.
        """
        return self._state.memory.astype(np.uint8).tobytes()

    def read_ram(self, address: int, n_byte: int) -> bytes:
        """Return a copy of some of the RAM; ValueError outside it."""
        return self._state.memory[self._ram_slice(address, n_byte)].astype(np.uint8).tobytes()

    def write_ram(self, address: int, data: bytes) -> None:
        """Put other bytes into RAM, as a fault would; ValueError outside it."""
        self._state.memory[self._ram_slice(address, len(data))] = np.frombuffer(data, np.uint8)

    @property
    def eeprom(self) -> bytes:
        """A copy of the EEPROM."""
        held: Bytes = self._state.eeprom[state.EEPROM_HELD]
        return held.astype(np.uint8).tobytes()

    def write_eeprom(self, address: int, data: bytes) -> None:
        """Put other bytes into the EEPROM, as a fault would, without wear; ValueError beyond its end."""
        held = self._state.eeprom[state.EEPROM_HELD]
        if not 0 <= address <= address + len(data) <= len(held):
            raise ValueError(f"{len(data)} bytes at {address:#06x} are not all EEPROM")
        held[address : address + len(data)] = np.frombuffer(data, np.uint8)

    @property
    def eeprom_writes(self) -> tuple[int, ...]:
        """How often each EEPROM cell was erased or written since the chip was made; resets don't set it back."""
        return tuple(int(count) for count in self._state.eeprom[state.EEPROM_WEAR])

    def run(self, until_cycle: int) -> None:
        """Go on until at least ``until_cycle``; raise :class:`BenchStoppedError` when that can't be."""
        while (outcome := run_chip(self._state, until_cycle)) == DRAINING:
            self._see_to_buffers()
        if outcome == STOPPED:
            scalar = self._state.scalar
            stopped = (int(scalar[field]) for field in (state.STOP, state.STOP_ADDRESS, state.STOP_VALUE))
            reason = reason_text(self._map, *stopped)
            raise BenchStoppedError(reason, self.program_address, self.cycle)

    def take_frames(self) -> Frames:
        """Return the frames completed since the last call, and forget them."""
        self._see_to_buffers()
        taken, self._taken = self._taken, []
        frames = [_unpack(rows, data) for rows, data in taken if len(rows)]
        width = max((data.shape[1] for _, data in frames), default=0)
        n_frame = sum(len(rows) for rows, _ in frames)
        rows = np.zeros((n_frame, 5), np.int64)
        data = np.zeros((n_frame, width), np.uint8)
        at = 0
        for some_rows, some_data in frames:
            rows[at : at + len(some_rows)] = some_rows
            data[at : at + len(some_rows), : some_data.shape[1]] = some_data
            at += len(some_rows)
        order = np.argsort(rows[:, state.FRAME_BEGAN], kind="stable")
        rows = rows[order]
        return Frames(
            line=rows[:, state.FRAME_LINE].astype(np.uint8),
            start_cycle=rows[:, state.FRAME_BEGAN],
            end_cycle=rows[:, state.FRAME_ENDED],
            n_bit=rows[:, state.FRAME_BITS].astype(np.int32),
            data=data[order],
        )

    def report(self, line: int) -> LineReport:
        """Return the timing figures of one line; a half that was never seen has no entry.

        ``shortest_latch`` is 0 until a second frame has begun. ``lengths`` has halves of 63 cycles and more
        under 63.
        """
        row = [int(number) for number in self._state.lines[line, : state.LENGTHS]]
        lengths = _lengths(self._state.lines[line])
        seen = [half for half in range(4) if row[state.LONGEST + half] >= 0]
        n_breach = row[state.N_BREACH]
        for half in seen:
            if not row[state.LEAST + half] <= row[state.LAST + half] <= row[state.MOST + half]:
                n_breach += row[state.N_LIKE_LAST + half]
        breach = None
        if row[state.HAS_BREACH]:
            breach = TimingBreach(
                half=state.HALVES[row[state.FIRST_HALF]],
                cycles=row[state.FIRST_CYCLES],
                frame=row[state.FIRST_FRAME],
                bit=row[state.FIRST_BIT],
            )
        latch = row[state.SHORTEST_LATCH]
        return LineReport(
            shortest={state.HALVES[half]: row[state.SHORTEST + half] for half in seen},
            longest={state.HALVES[half]: row[state.LONGEST + half] for half in seen},
            n_bit=sum(sum(found.values()) for half, found in lengths.items() if half.endswith("high")),
            n_breach=n_breach,
            first_breach=breach,
            shortest_latch=0 if latch == state.NEVER else latch,
            lengths=lengths,
        )

    def reset(self, cause: ResetCause, held: float = 0.0) -> None:
        """Reset the chip now, for this cause; RAM is kept unless the cause is a power-on.

        For ``held`` seconds, such as a brown-out lasts, the chip then stands with its pins low before it starts.
        """
        scalar, memory = self._state.scalar, self._state.memory
        if cause in (ResetCause.POWER_ON, ResetCause.BROWN_OUT) and self.cycle < scalar[state.EEPROM_BUSY]:
            # the byte being written is lost with the power
            address = (int(memory[EEARL]) | int(memory[EEARH]) << 8) % self._map.eeprom
            self._state.eeprom[state.EEPROM_HELD, address] = self._noise.integers(0, 256)
            scalar[state.EEPROM_BUSY] = 0
        if cause is ResetCause.POWER_ON:
            memory[:] = self._noise.integers(0, 256, len(memory))
        scalar[state.STOP] = state.RUNNING
        scalar[state.RESET_WANTED] = _CAUSE_BITS[cause]
        scalar[state.HELD] = round(held * self._true_clock_hz)
        self.run(self.cycle)

    def hang(self) -> None:
        """Make the core spin on the spot, as after a fault, until something resets it.

        Interrupts are off meanwhile; pins stay as they are.
        """
        self._state.scalar[state.HUNG] = 1

    def save(self) -> Snapshot:
        """Return the whole state as it is now, frames not yet taken included."""
        return take_snapshot(
            self._state, self._identity, self._taken, copy.deepcopy(dict(self._noise.bit_generator.state))
        )

    def restore(self, snapshot: Snapshot, noise_seed: int | None = None) -> None:
        """Go back, or ahead, to a saved state; the snapshot can be restored again.

        Parameters
        ----------
        snapshot : Snapshot
            Of this chip, or of another with the same program, clock and lines.
        noise_seed : int
            Seeds what RAM holds after later power-ons; as it was when the state was saved if left out.

        Raises
        ------
        ValueError
            The snapshot belongs to another program, clock or lines.
        """
        if snapshot.identity != self._identity:
            raise ValueError("the snapshot was taken with another program, clock or lines")
        self._state = put_back(self._state, snapshot)
        self._taken = list(snapshot.taken)
        if noise_seed is None:
            self._noise.bit_generator.state = snapshot.noise
        else:
            self._noise = np.random.default_rng(noise_seed)

    def fork(self) -> EmulatedChip:
        """Return a second chip in the same state; the two go on independently."""
        other = copy.copy(self)
        other._noise = copy.deepcopy(self._noise)
        other._state = twin(self._state)
        other.restore(self.save())
        return other

    def _ram_slice(self, address: int, n_byte: int) -> slice:
        if not self.ram_start <= address <= address + n_byte <= self.ram_start + self.ram_size:
            raise ValueError(f"{n_byte} bytes at {address:#06x} are not all RAM")
        return slice(address, address + n_byte)

    def _see_to_buffers(self) -> None:
        """Take the finished frames out of the core's buffers, and enlarge those of open frames if asked."""
        chip, scalar = self._state, self._state.scalar
        n_frame, n_byte = int(scalar[state.N_FINISHED]), int(scalar[state.FINISHED_BYTES])
        if n_frame:
            self._taken.append((chip.finished[:n_frame].copy(), chip.finished_data[:n_byte].copy()))
        scalar[state.N_FINISHED] = scalar[state.FINISHED_BYTES] = scalar[state.DRAIN] = 0
        if scalar[state.GROW]:
            scalar[state.GROW] = 0
            open_data = np.concatenate((chip.open_data, np.zeros_like(chip.open_data)), axis=1)
            finished_data = np.zeros(max(_FINISHED_BYTES, 4 * open_data.size), np.uint8)
            self._state = chip._replace(open_data=open_data, finished_data=finished_data)


def _identify(chip: str, firmware: bytes, clock_hz: float, lines: Sequence[Line]) -> str:
    digest = hashlib.sha256(firmware)
    digest.update(repr((chip, clock_hz, tuple(lines))).encode())
    return digest.hexdigest()


def _unpack(rows: NDArray[np.int64], data: NDArray[np.uint8]) -> tuple[NDArray[np.int64], NDArray[np.uint8]]:
    """Lay frames that follow each other in (n_byte,) ``data`` out as (n_frame, n_byte_longest)."""
    n_byte = (rows[:, state.FRAME_BITS] + 7) // 8
    width = int(n_byte.max())
    if (n_byte == width).all():
        return rows, data.reshape(len(rows), width)
    laid_out = np.zeros((len(rows), width), np.uint8)
    for at, (offset, length) in enumerate(zip(rows[:, state.FRAME_OFFSET], n_byte, strict=True)):
        laid_out[at, :length] = data[offset : offset + length]
    return rows, laid_out


def _new_state(chip: ChipMap, firmware: bytes, eeprom: bytes, lines: Sequence[Line], clock_hz: float) -> ChipState:
    flash = np.full(chip.flash, 0xFF, np.int64)
    flash[: len(firmware)] = np.frombuffer(firmware, np.uint8)
    kept = np.zeros((2, chip.eeprom), np.int64)
    kept[state.EEPROM_HELD] = 0xFF
    kept[state.EEPROM_HELD, : len(eeprom)] = np.frombuffer(eeprom, np.uint8)
    words = (flash[0::2] | flash[1::2] << 8).astype(np.uint16)
    scalar = _chip_fields(chip)
    rows = np.zeros((len(lines), state.N_LINE_FIELD), np.int64)
    for row, line in zip(rows, lines, strict=True):
        _set_line(row, line, chip, clock_hz)
        scalar[state.WATCHED + row[state.PORT]] |= 1 << row[state.BIT]
    open_data = np.zeros((len(lines), _OPEN_BYTES), np.uint8)
    return ChipState(
        scalar=scalar,
        memory=np.zeros(chip.ram_end + 1, np.int64),
        eeprom=kept,
        lines=rows,
        open_data=open_data,
        finished=np.zeros((_FINISHED_FRAMES, 5), np.int64),
        finished_data=np.zeros(max(_FINISHED_BYTES, 4 * open_data.size), np.uint8),
        code=decode_program(words, chip),
        flash=flash,
        rules=chip.rules,
    )


def _chip_fields(chip: ChipMap) -> NDArray[np.int64]:
    """Return ``scalar`` with what it says of the chip, all else 0."""
    scalar = np.zeros(state.N_SCALAR, np.int64)
    scalar[state.FIRST_RAM], scalar[state.LAST_RAM] = chip.ram_start, chip.ram_end
    scalar[state.LOWEST_STACK] = chip.ram_end
    scalar[state.IS_WIDE] = int(chip.is_wide)
    scalar[state.MATCH_C_FLAG] = 0x08 if chip.has_match_c else 0
    for number, source in enumerate(state.SOURCES):
        scalar[state.VECTORS + number] = chip.vector[source]
    for number, register in enumerate(("DIDR0", "DIDR1")):
        letter, shift = chip.input_off.get(register, ("", 0))
        scalar[state.INPUT_OFF + number] = PORT_LETTERS.index(letter) if letter else -1
        scalar[state.INPUT_OFF_SHIFT + number] = shift
    for field, bits in (
        (state.PORT_PINS, chip.pins),
        (state.READS_LOW, chip.low_pins),
        (state.READS_HIGH, chip.high_pins),
    ):
        for letter, mask in bits.items():
            scalar[field + PORT_LETTERS.index(letter)] = mask
    return scalar


def _lengths(row: NDArray[np.int64]) -> dict[str, dict[int, int]]:
    """Return how many halves of a line's row took each number of cycles; a half never seen has no entry."""
    counts = row[state.LENGTHS :].reshape(len(state.HALVES), state.N_LENGTH).copy()
    for half, last in enumerate(row[state.LAST : state.LAST + len(state.HALVES)]):
        if last >= 0:
            counts[half, min(last, state.OFF_SCALE)] += row[state.N_LIKE_LAST + half]
    lengths: dict[str, dict[int, int]] = {}
    for half, cycles in zip(*np.nonzero(counts), strict=True):
        lengths.setdefault(state.HALVES[half], {})[int(cycles)] = int(counts[half, cycles])
    return lengths


def _set_line(row: NDArray[np.int64], line: Line, chip: ChipMap, clock_hz: float) -> None:
    """Fill in a line's row: its pin, and its windows in whole cycles."""
    pins = chip.data_pins(line.port.upper())
    if not (0 <= line.bit <= 7 and pins >> line.bit & 1):
        raise ValueError(f'the chip has no data pin "P{line.port}{line.bit}"')
    windows = line.windows
    row[state.PORT], row[state.BIT] = PORT_LETTERS.index(line.port.upper()), line.bit
    # one cycle of doubt is decided by the middle between the longest zero and the shortest one
    middle = (windows.zero_high[1] + windows.one_high[0]) / 2
    row[state.THRESHOLD] = math.floor(middle * clock_hz + _SPECK)
    row[state.LATCH] = math.ceil(windows.latch * clock_hz - _SPECK)
    row[state.SHORTEST_LATCH] = state.NEVER
    halves = (windows.zero_high, windows.zero_low, windows.one_high, windows.one_low)
    for half, (least, most) in enumerate(halves):
        row[state.LEAST + half] = math.ceil(least * clock_hz - _SPECK)
        row[state.MOST + half] = math.floor(most * clock_hz + _SPECK)
        row[state.SHORTEST + half] = state.NEVER
        row[state.LONGEST + half] = -1
        row[state.LAST + half] = -1
