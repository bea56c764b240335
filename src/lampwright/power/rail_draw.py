"""What the rails of a circuit do over its whole show, gathered block by block."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.model import CircuitLayout
from lampwright.piece.model import Ending
from lampwright.power.solve import RailBlock, Rails
from lampwright.power.wiring import wire_up
from lampwright.show.model import CircuitShow

Floats = NDArray[np.float64]

SUSTAINED = 180.0
"""A load that lasts this long counts as continuous for a wire and its fuse: a pair of AWG 18 of some 13 J/(m K), which
loses some 0.07 W/(m K) to still air, is most of the way to its end temperature (both from memory). [s]"""


@dataclass(frozen=True)
class RailPart:
    """What is kept of a block of frames; arrays as in :class:`RailDraw`."""

    lowest: NDArray[np.float32]
    where: NDArray[np.int32]
    first_pixel: NDArray[np.float32]
    wire_peak: Floats
    flows: NDArray[np.float32]  # (n_frame, n_wire) current of each laid wire [A]
    n_curved: int


@dataclass(frozen=True)
class RailDraw:
    """The rails of a circuit over its whole show, by frame since power-on."""

    lowest: NDArray[np.float32]  # (n_frame,) lowest supply of any pixel [V]
    where: NDArray[np.int32]  # (n_frame,) the pixel that has it
    first_pixel: NDArray[np.float32]  # (n_frame, n_run) supply of each run's first pixel [V]
    wires: tuple[str, ...]  # the laid wires
    wire_peak: Floats  # (n_wire,) highest current in either direction [A]
    peak_time: Floats  # (n_wire,) when each of these is first reached, since power-on [s]
    wire_rms: Floats  # (n_wire,) root of the mean square, which heats, as :func:`sustained` [A]
    n_curved: int
    """Frames in which some pixel no longer regulated."""

    @property
    def worst_frame(self) -> int:
        """The frame of the lowest supply."""
        return int(self.lowest.argmin())


HARD_FRAMES = 48
"""Stretches of a show of which the hardest frame each is looked at anew (our choice)."""


def hard_frames(draw: RailDraw) -> list[int]:
    """Return the frame of the lowest supply of each stretch of a show, the worst of all among them."""
    stretches = np.array_split(np.arange(len(draw.lowest)), min(HARD_FRAMES, len(draw.lowest)))
    return [int(each[draw.lowest[each].argmin()]) for each in stretches]


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
        flows.astype(np.float32),
        block.n_curved,
    )


def join_rails(parts: Sequence[RailPart]) -> RailPart:
    """Return one part of many, in their order."""
    return RailPart(
        np.concatenate([part.lowest for part in parts]),
        np.concatenate([part.where for part in parts]),
        np.concatenate([part.first_pixel for part in parts]),
        np.max([part.wire_peak for part in parts], axis=0),
        np.concatenate([part.flows for part in parts]),
        sum(part.n_curved for part in parts),
    )


def gather_rails(show: CircuitShow, rails: Rails, parts: Sequence[RailPart]) -> RailDraw:
    """Return the rails of a show from its parts, in order from power-on."""
    whole = join_rails(parts)
    return RailDraw(
        whole.lowest,
        whole.where,
        whole.first_pixel,
        tuple(rails.network.wires[index].name for index in rails.laid),
        whole.wire_peak,
        np.abs(whole.flows).argmax(axis=0) * (show.frame_ms / 1000),
        sustained(whole.flows, show),
        whole.n_curved,
    )


def sustained(flows: NDArray[np.float32], show: CircuitShow) -> Floats:
    """Return the highest root of the mean square of each wire's current that lasts. [A]

    Over one pass of the show; over any stretch of ``SUSTAINED`` within the show, repeats included, or within standby;
    and of the last frame where the show holds it. Standby and show are never averaged together: a long dark standby
    cools no wire that the show heats.

    Parameters
    ----------
    flows : (n_frame, n_wire) float32
        By frame since power-on. [A]
    """
    start, end = show.standby_frames, show.standby_frames + show.pass_frames
    window = round(SUSTAINED * 1000 / show.frame_ms)
    shown = flows[start:end]
    whole = np.mean(np.square(shown, dtype=np.float64), axis=0)
    if show.ending is Ending.HOLD:
        whole = np.maximum(whole, np.square(flows[end - 1], dtype=np.float64))
    elif show.ending is Ending.REPEAT:
        shown = np.concatenate([shown, shown[: window - 1]])
    squares = np.maximum(whole, _highest_mean_square(shown, window))
    if start:
        squares = np.maximum(squares, _highest_mean_square(flows[:start], window))
    return np.sqrt(squares)


def _highest_mean_square(flows: NDArray[np.float32], window: int) -> Floats:
    """Return the highest mean square of any stretch of ``window`` frames, or of all where there are fewer. [A²]"""
    n = min(window, len(flows))
    total = np.zeros((len(flows) + 1, flows.shape[1]))
    np.cumsum(np.square(flows, dtype=np.float64), axis=0, out=total[1:])
    return np.asarray((total[n:] - total[:-n]).max(axis=0) / n, dtype=np.float64)
