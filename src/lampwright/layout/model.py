"""Where every pixel is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.piece.model import Circuit, Piece, Run, Section


@dataclass(frozen=True)
class SectionLayout:
    """One section's pixels: ``n_pixel`` of them, the first at ``first`` within its circuit."""

    section: Section
    first: int
    n_pixel: int
    length: float  # of strip, from its first cut mark to its last [m]
    room: float  # how much strip the section could hold; what is left of it stays dark [m]


@dataclass(frozen=True)
class RunLayout:
    """One run's pixels within its circuit."""

    run: Run
    first: int
    n_pixel: int
    sections: tuple[SectionLayout, ...]


@dataclass(frozen=True)
class CircuitLayout:
    """Pixel places of a circuit, its runs one after the other."""

    circuit: Circuit
    runs: tuple[RunLayout, ...]
    xyz: NDArray[np.float64]  # (n_pixel, 3) in the piece's axes, z up from the ground [m]
    along: NDArray[np.float64]  # (n_pixel,) distance from the head of the pixel's own run [m]

    @property
    def n_pixel(self) -> int:
        """Pixels of all runs."""
        return len(self.along)


@dataclass(frozen=True)
class Layout:
    """The whole piece, laid out."""

    piece: Piece
    circuits: tuple[CircuitLayout, ...]
