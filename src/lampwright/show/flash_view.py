"""The piece as a viewer stands before it: how large each pixel looks, and what fits into one field of view."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.model import CircuitLayout

VIEWING_DISTANCE = 3.0
"""From the eye to the nearest pixel. (our choice) [m]"""

EYE_HEIGHT = 1.6
"""Of somebody standing. (common practice, no source) [m]"""

STRIP_WIDTH = 0.010
"""A pixel counts as a lit patch of this width, one pitch long. (common practice, no source) [m]"""

FIELD_ANGLE = math.radians(10)
"""Across the field of view that the area is counted in. (WCAG 2.2, general flash and red flash thresholds) [rad]"""

FREE_AREA = 0.006
"""Flashes up to this area within one field are exempt. (WCAG 2.2, as above) [sr]"""

CENTRE_STEP = math.radians(0.5)
"""Fields are tried about this far apart. (our choice) [rad]"""


@dataclass(frozen=True)
class Standpoint:
    """All pixels as seen from one place."""

    directions: NDArray[np.float64]  # (n_pixel, 3) of length 1, from the eye
    areas: NDArray[np.float64]  # (n_pixel,) as if each faced the eye [sr]


@dataclass(frozen=True)
class View:
    """The piece from its four sides; pixels of all circuits one after the other."""

    circuits: tuple[str, ...]
    circuit_of: NDArray[np.int64]  # (n_pixel,) index into ``circuits``
    standpoints: tuple[Standpoint, ...]
    crowded: NDArray[np.float32]
    """(n_field, n_pixel) area of each pixel in each field that holds more than the exempt area, 0 outside. [sr]"""

    @property
    def n_pixel(self) -> int:
        """Pixels of all circuits."""
        return len(self.circuit_of)

    def largest_area(self, pixels: NDArray[np.int64]) -> float:
        """Return the largest area that these pixels take up in any one field, from any side. [sr]"""
        areas = [
            float(areas.max(initial=0.0))
            for standpoint in self.standpoints
            for areas in (_fields(standpoint.directions[pixels], standpoint.areas[pixels]).sum(axis=1),)
        ]
        # strips one behind the other may add up to more than the field holds
        return min(max(areas, default=0.0), cone_solid_angle(FIELD_ANGLE))


def cone_solid_angle(angle: float) -> float:
    """Return the solid angle of a round field ``angle`` across [rad]: 2π (1 − cos(angle / 2)). [sr]"""
    return 2 * math.pi * (1 - math.cos(angle / 2))


def area_at(solid_angle: float, distance: float) -> float:
    """Return the area that fills a small solid angle [sr] at this distance [m]. [m²]"""
    return solid_angle * distance**2


def view_piece(layouts: Sequence[CircuitLayout]) -> View:
    """Return how the piece looks from its four sides, :data:`VIEWING_DISTANCE` before its nearest pixel.

    From each side (along x and y, both ways) an eye stands before the middle of the piece. Each pixel
    counts as pitch × :data:`STRIP_WIDTH`, facing the eye; nothing hides anything. A field is a cone of
    :data:`FIELD_ANGLE` around a pixel; of pixels within about half a degree one is enough.
    """
    xyz = np.concatenate([layout.xyz for layout in layouts])
    patch = np.concatenate(
        [np.full(layout.n_pixel, STRIP_WIDTH / layout.circuit.strip.density.value) for layout in layouts]
    )
    standpoints = tuple(_standpoint(xyz, patch, axis, side) for axis in (0, 1) for side in (-1, 1))
    crowded = [_crowded(standpoint) for standpoint in standpoints]
    circuit_of = np.repeat(np.arange(len(layouts)), [layout.n_pixel for layout in layouts])
    names = tuple(layout.circuit.name for layout in layouts)
    return View(names, circuit_of, standpoints, np.concatenate(crowded))


def _standpoint(xyz: NDArray[np.float64], patch: NDArray[np.float64], axis: int, side: int) -> Standpoint:
    low, high = xyz.min(axis=0), xyz.max(axis=0)
    eye = (low + high) / 2
    eye[2] = EYE_HEIGHT
    eye[axis] = low[axis] - VIEWING_DISTANCE if side < 0 else high[axis] + VIEWING_DISTANCE
    away = xyz - eye
    distance = np.linalg.norm(away, axis=1)
    return Standpoint(away / distance[:, None], patch / distance**2)


def _crowded(standpoint: Standpoint) -> NDArray[np.float32]:
    fields = _fields(standpoint.directions, standpoint.areas)
    return np.asarray(fields[fields.sum(axis=1) > FREE_AREA])


def _fields(directions: NDArray[np.float64], areas: NDArray[np.float64]) -> NDArray[np.float32]:
    """Return the area of each pixel in each field around these pixels, 0 outside, (n_field, n_pixel). [sr]"""
    _, centres = np.unique(np.round(directions / CENTRE_STEP), axis=0, return_index=True)
    inside = directions[centres] @ directions.T >= math.cos(FIELD_ANGLE / 2)
    return np.where(inside, areas, 0.0).astype(np.float32)
