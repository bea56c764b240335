"""A chip's whole state at one cycle, kept to be gone back to.

Only what a run changes is copied, a few tens of kilobytes: the program and the register table stay
with the chip. A snapshot can be sent to another process and restored there on a chip with the same program.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lampwright.chip import state
from lampwright.chip.state import ChipState

TakenFrames = tuple[NDArray[np.int64], NDArray[np.uint8]]
"""Finished frames that have left the core's buffers: rows as of ``state.FRAME_LINE`` on, and their bytes."""


@dataclass(frozen=True)
class Snapshot:
    """What :meth:`lampwright.chip.EmulatedChip.save` returns; its arrays can't be written to."""

    identity: str
    """Names the program, the clock and the lines it was taken with."""
    scalar: NDArray[np.int64]
    memory: NDArray[np.int64]
    eeprom: NDArray[np.int64]
    lines: NDArray[np.int64]
    open_data: NDArray[np.uint8]
    finished: NDArray[np.int64]  # (n_finished, 5)
    finished_data: NDArray[np.uint8]  # (n_byte,)
    taken: tuple[TakenFrames, ...]
    noise: dict[str, Any]
    """State of the source of noise at power-on."""

    @property
    def cycle(self) -> int:
        """Cycles since power-on."""
        return int(self.scalar[state.CYCLE])

    @property
    def n_byte(self) -> int:
        """Size of its arrays. [byte]"""
        arrays = (self.scalar, self.memory, self.eeprom, self.lines, self.open_data, self.finished, self.finished_data)
        return sum(array.nbytes for array in arrays)


def take_snapshot(chip: ChipState, identity: str, taken: Sequence[TakenFrames], noise: dict[str, Any]) -> Snapshot:
    """Copy what a run changes."""
    return Snapshot(
        identity=identity,
        scalar=_frozen(chip.scalar),
        memory=_frozen(chip.memory),
        eeprom=_frozen(chip.eeprom),
        lines=_frozen(chip.lines),
        open_data=_frozen(chip.open_data),
        finished=_frozen(chip.finished[: chip.scalar[state.N_FINISHED]]),
        finished_data=_frozen(chip.finished_data[: chip.scalar[state.FINISHED_BYTES]]),
        taken=tuple(taken),  # never written to once taken
        noise=noise,
    )


def put_back(chip: ChipState, snapshot: Snapshot) -> ChipState:
    """Return ``chip`` as it was; its buffers are used again where they are as large as they were."""
    if chip.open_data.shape != snapshot.open_data.shape:
        chip = chip._replace(
            open_data=np.zeros_like(snapshot.open_data),
            finished_data=np.zeros(max(len(chip.finished_data), 4 * snapshot.open_data.size), np.uint8),
        )
    chip.scalar[:] = snapshot.scalar
    chip.memory[:] = snapshot.memory
    chip.eeprom[:] = snapshot.eeprom
    chip.lines[:] = snapshot.lines
    chip.open_data[:] = snapshot.open_data
    chip.finished[: len(snapshot.finished)] = snapshot.finished
    chip.finished_data[: len(snapshot.finished_data)] = snapshot.finished_data
    return chip


def twin(chip: ChipState) -> ChipState:
    """Return a state that shares the program with ``chip``, and has buffers of its own to be filled."""
    return chip._replace(
        scalar=np.zeros_like(chip.scalar),
        memory=np.zeros_like(chip.memory),
        eeprom=np.zeros_like(chip.eeprom),
        lines=np.zeros_like(chip.lines),
        open_data=np.zeros_like(chip.open_data),
        finished=np.zeros_like(chip.finished),
        finished_data=np.zeros_like(chip.finished_data),
    )


def _frozen(array: NDArray[Any]) -> NDArray[Any]:
    kept = array.copy()
    kept.flags.writeable = False
    return kept
