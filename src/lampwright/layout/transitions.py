"""Where a run goes from one section to the next: whether strip can follow, or is cut and joined by a short cable."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.model import CircuitLayout, RunLayout

Reals = NDArray[np.float64]

LEAST_BEND = 0.05
"""Radius to which a sleeved strip may be bent, over its flat side, never edgewise; bare strip 30 mm
(common practice, no source). [m]"""


@dataclass(frozen=True)
class Transition:
    """The way from one section's last cut mark to the next one's first."""

    run: str
    before: str
    after: str
    pixel: int
    """The first pixel of the section after, counted from 0 in its run."""
    share: float
    """The same as a share of the run's length. [1]"""
    gap: float  # [m]
    radius: float  # to which strip laid straight on would bend; infinity where it needn't [m]
    is_joined: bool
    """Whether the piece file states a joint there."""

    @property
    def is_cut(self) -> bool:
        """Whether strip can't lie on without a break: it would bend too tightly, or pixels are missing between."""
        return self.radius < LEAST_BEND


def transitions(circuit: CircuitLayout) -> tuple[Transition, ...]:
    """Return every transition of a circuit's runs, in the order of the data."""
    return tuple(each for run in circuit.runs for each in _of_run(circuit, run))


def _of_run(circuit: CircuitLayout, run: RunLayout) -> Iterator[Transition]:
    pitch = 1.0 / run.run.strip.density.value
    joined = {round(joint.at * run.n_pixel) for joint in run.run.joints}
    for before, after in pairwise(run.sections):
        if not before.n_pixel or not after.n_pixel:
            continue
        end, leaving = _mark(circuit.xyz[before.first : before.first + before.n_pixel][::-1], pitch)
        start, arriving = _mark(circuit.xyz[after.first : after.first + after.n_pixel], pitch)
        gap = float(np.linalg.norm(start - end))
        turn = math.acos(float(np.clip(-leaving @ arriving, -1.0, 1.0)))
        # One pitch of strip lies between the last pixel and the next; it alone can bend, and it reaches no farther.
        radius = 0.0 if gap > pitch else pitch / turn if turn > 1e-6 else math.inf
        pixel = after.first - run.first
        yield Transition(
            run.run.name,
            before.section.name,
            after.section.name,
            pixel,
            pixel / run.n_pixel,
            gap,
            radius,
            pixel in joined,
        )


def _mark(pixels: Reals, pitch: float) -> tuple[Reals, Reals]:
    """Return the cut mark before the first of these pixels, and the direction from it to the pixel."""
    if len(pixels) < 2:
        return pixels[0], np.zeros(3)
    along = pixels[1] - pixels[0]
    along = along / np.linalg.norm(along)
    return pixels[0] - along * (pitch / 2), along
