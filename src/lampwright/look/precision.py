"""What precision a look loses on the chip: the scale of every named value, and its error against real numbers.

The range is proven. The error is measured, not proven: the whole numbers are held against floating point at
moments spread over the cue, at every pixel. Where a value jumps (a comparison, ``floor``), a moment just
beside the jump shows as an error as high as the jump; the usual error leaves out the worst hundredth.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.look.build import CueTime
from lampwright.look.codes import Drive
from lampwright.look.program import lower_look
from lampwright.look.run import evaluate, in_order
from lampwright.look.source import Look, Value
from lampwright.look.steady import Places, evaluate_at
from lampwright.look.whole import narrowest

MOMENTS = 400
"""Moments of the cue at which errors are measured."""
USUAL = 0.99
"""Share of the samples that the usual error covers."""


@dataclass(frozen=True)
class Precision:
    """How a value is kept: ``bits`` wide, ``places`` of them behind the point (fewer than none: it is coarser than 1).

    ``low`` and ``high`` are its proven range as kept; ``usual`` is the error that 99 of 100 samples keep to,
    ``worst`` the largest one met.
    """

    name: str
    low: float
    high: float
    bits: int
    places: int
    usual: float
    worst: float

    @property
    def step(self) -> float:
        """The smallest difference that can be told."""
        return 2.0**-self.places


def measure_precision(
    look: Look,
    settings: Mapping[str, Value],
    places: Places,
    frame_seconds: float,
    last_frame: int,
    drive: Drive,
    cue: CueTime | None = None,
) -> tuple[Precision, ...]:
    """Return the precision of each named value, then of the codes of red, green and blue.

    Parameters are those of :func:`lampwright.look.program.compile_look`; ``drive`` must not be dithered, as a
    dithered code is right only in the mean of four frames. Codes are held against channels before rounding,
    so half a code is the best there is.

    Raises
    ------
    MakerError
        As :func:`lampwright.look.program.compile_look`.
    """
    assert not drive.is_dithered
    lowered = lower_look(look, settings, places, frame_seconds, last_frame, drive, cue)
    kept = [(name, node, scaled.whole, scaled.places) for name, node, scaled in lowered.lowering.scales()]
    frames = np.unique(np.linspace(0, last_frame, MOMENTS).astype(np.int64))
    wholes = evaluate(in_order([whole for _, _, whole, _ in kept] + list(lowered.codes)), frames)
    nodes = [node for _, node, _, _ in kept]
    reals = evaluate_at([*nodes, *lowered.channels], places, frames.astype(np.float64) * frame_seconds)
    shown = []
    for (name, _, whole, binary), real in zip(kept, reals, strict=False):
        error = np.abs(wholes[whole] * 2.0**-binary - real)
        shown.append(_precision(name, (whole.low, whole.high), binary, error))
    for number, channel in enumerate(reals[len(kept) :]):
        code, full = lowered.codes[number], drive.full(number)
        error = np.abs(wholes[code] - np.clip(channel * full, 0, round(full)))
        shown.append(_precision(("red", "green", "blue")[number] + " code", (code.low, code.high), 0, error))
    return tuple(shown)


def _precision(name: str, ends: tuple[int, int], places: int, error: NDArray[np.float64]) -> Precision:
    low, high = (end * 2.0**-places for end in ends)
    bits = int("".join(c for c in narrowest(*ends).removesuffix("_t") if c.isdigit()))
    return Precision(name, low, high, bits, places, float(np.quantile(error, USUAL)), float(error.max()))
