"""What the rails of a circuit do over its whole show, gathered block by block."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.model import CircuitLayout
from lampwright.power.solve import RailBlock, Rails
from lampwright.power.wiring import wire_up

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class RailPart:
    """What is kept of a block of frames; arrays as in :class:`RailDraw`, wires summed over the block."""

    lowest: NDArray[np.float32]
    where: NDArray[np.int32]
    first_pixel: NDArray[np.float32]
    wire_peak: Floats
    wire_squares: Floats
    n_curved: int


@dataclass(frozen=True)
class RailDraw:
    """The rails of a circuit over its whole show, by frame since power-on."""

    lowest: NDArray[np.float32]  # (n_frame,) lowest supply of any pixel [V]
    where: NDArray[np.int32]  # (n_frame,) the pixel that has it
    first_pixel: NDArray[np.float32]  # (n_frame, n_run) supply of each run's first pixel [V]
    wires: tuple[str, ...]  # the laid wires
    wire_peak: Floats  # (n_wire,) highest current in either direction [A]
    wire_rms: Floats  # (n_wire,) root of the mean square, which heats [A]
    n_curved: int
    """Frames in which some pixel no longer regulated."""

    @property
    def worst_frame(self) -> int:
        """The frame of the lowest supply."""
        return int(self.lowest.argmin())


def ready_rails(layout: CircuitLayout) -> Rails:
    """Return a circuit's rails, watching the first pixel of each run."""
    return Rails(wire_up(layout), watched=[run.first for run in layout.runs])


def rail_part(rails: Rails, codes: NDArray[np.uint8]) -> RailPart:
    """Return what the rails do in a block of frames, (n_frame, n_pixel, 3) as sent."""
    return keep(rails.solve(codes))


def keep(block: RailBlock) -> RailPart:
    """Return what is kept of a solved block."""
    flows = block.flows[:, :-1]
    return RailPart(
        block.lowest.astype(np.float32),
        block.where.astype(np.int32),
        block.volts.astype(np.float32),
        np.abs(flows).max(axis=0),
        (flows**2).sum(axis=0),
        block.n_curved,
    )


def join_rails(parts: Sequence[RailPart]) -> RailPart:
    """Return one part of many, in their order."""
    return RailPart(
        np.concatenate([part.lowest for part in parts]),
        np.concatenate([part.where for part in parts]),
        np.concatenate([part.first_pixel for part in parts]),
        np.max([part.wire_peak for part in parts], axis=0),
        np.sum([part.wire_squares for part in parts], axis=0),
        sum(part.n_curved for part in parts),
    )


def gather_rails(rails: Rails, parts: Sequence[RailPart]) -> RailDraw:
    """Return the rails of a show from its parts, in order from power-on."""
    whole = join_rails(parts)
    return RailDraw(
        whole.lowest,
        whole.where,
        whole.first_pixel,
        tuple(rails.network.wires[index].name for index in rails.laid),
        whole.wire_peak,
        np.sqrt(whole.wire_squares / len(whole.lowest)),
        whole.n_curved,
    )
