"""Ways to look at a piece: from above, from the front, from the right, and isometric.

The views stand by the third-angle rule (ISO 5456-2, from memory): the plan above the front, the right side to the
right of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.book.drawing.sheet import Box, Point

Reals = NDArray[np.float64]


@dataclass(frozen=True)
class Projection:
    """A direction to look in: unit vectors to the right and upward on the paper, and toward the viewer."""

    title: str
    right: tuple[float, float, float]
    up: tuple[float, float, float]
    toward: tuple[float, float, float]

    @property
    def is_level(self) -> bool:
        """Whether the viewer looks along the ground, so that the ground is a line."""
        return self.toward[2] == 0.0

    def flat(self, points: Reals) -> Reals:
        """Return (n, 2) places to the right and upward of (n, 3) points. [m]"""
        return np.asarray(points @ np.array([self.right, self.up]).T, dtype=np.float64)

    def depth(self, points: Reals) -> float:
        """Return how near points lie to the viewer, on the mean. [m]"""
        return float(np.mean(points @ np.array(self.toward)))


_A, _B, _C = 1 / math.sqrt(2), 1 / math.sqrt(6), 1 / math.sqrt(3)

PLAN = Projection("Plan, from above", (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
FRONT = Projection("Front, along y", (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0))
SIDE = Projection("Right side, against x", (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
ISOMETRIC = Projection("Isometric, from the front right", (_A, _A, 0.0), (-_B, _B, 2 * _B), (_C, -_C, _C))


@dataclass(frozen=True)
class View:
    """A projection at its place on the paper."""

    projection: Projection
    scale: float  # millimetres of paper to a metre [mm/m]
    origin: Point  # where the axes' zero lies on the paper [mm]
    cell: Box
    """The part of the paper that the view may use, labels and dimensions too."""

    def to_paper(self, points: Reals) -> Reals:
        """Return the (n, 2) places on the paper of (n, 3) points [m]. [mm]"""
        flat = self.projection.flat(np.atleast_2d(points)) * self.scale
        return np.asarray(np.array(self.origin) + flat * np.array([1.0, -1.0]), dtype=np.float64)

    def at(self, point: Reals) -> Point:
        """Return the place on the paper of one point. [mm]"""
        x, y = self.to_paper(point)[0]
        return float(x), float(y)
