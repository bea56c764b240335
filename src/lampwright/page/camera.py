"""Where somebody stands to look at the piece, and where a place then falls on the picture.

A pinhole: the picture's plane lies one focal length before the eye, upright to where the eye looks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

FIELD_ANGLE = math.radians(45)
"""From the lower to the upper edge of the picture, as on the page. (our choice) [rad]"""

EYE_HEIGHT = 1.6
"""Of a grown-up on foot. (common practice, no source) [m]"""

FILLED = 0.88
"""Share of the picture's width or height that the piece takes up. (our choice)"""

NEAREST = 0.1
"""What is nearer to the eye than this is not drawn. [m]"""


class Stand(Enum):
    """Where one stands."""

    IN_FRONT = "in-front"
    ON_FOOT = "on-foot"
    FROM_ABOVE = "from-above"


@dataclass(frozen=True)
class Seen:
    """Places as they fall on the picture; what is too near or behind the eye has ``is_before`` False."""

    x: NDArray[np.float64]  # (n,) from the left edge [picture points]
    y: NDArray[np.float64]  # (n,) from the upper edge [picture points]
    depth: NDArray[np.float64]  # (n,) along the line of sight [m]
    is_before: NDArray[np.bool_]  # (n,)


@dataclass(frozen=True)
class Camera:
    """An eye, where it looks, and the size of its picture."""

    eye: NDArray[np.float64]  # (3,) [m]
    axes: NDArray[np.float64]  # (3, 3) rows of length 1: to the right, up, and along the line of sight
    width: int
    height: int

    @property
    def focal(self) -> float:
        """Distance of the picture's plane. [picture points]"""
        return self.height / 2 / math.tan(FIELD_ANGLE / 2)

    def see(self, places: NDArray[np.float64]) -> Seen:
        """Return where places (n, 3) [m] fall on the picture."""
        right, up, depth = self.axes @ (places - self.eye).T
        is_before = depth > NEAREST
        scale = self.focal / np.where(is_before, depth, 1.0)
        return Seen(self.width / 2 + scale * right, self.height / 2 - scale * up, depth, is_before)


def look_at(eye: NDArray[np.float64], target: NDArray[np.float64], width: int, height: int) -> Camera:
    """Return a camera at ``eye`` that looks at ``target``, its picture upright."""
    along = target - eye
    along = along / np.linalg.norm(along)
    upward = np.array([0.0, 0.0, 1.0]) if abs(along[2]) < 0.9999 else np.array([0.0, 1.0, 0.0])
    right = np.cross(along, upward)
    right /= np.linalg.norm(right)
    return Camera(eye, np.array([right, np.cross(right, along), along]), width, height)


def stand(where: Stand, places: NDArray[np.float64], width: int, height: int) -> Camera:
    """Return the camera of somebody who stands before places (n, 3) [m], far enough off to see them all.

    On foot one stands as near as one would walk up, and sees what can be seen from there.
    """
    low, high = places.min(axis=0), places.max(axis=0)
    middle = (low + high) / 2
    reach = max(1.5, float(np.linalg.norm(high - low)))
    match where:
        case Stand.ON_FOOT:
            return look_at(
                np.array([middle[0], low[1] - 0.55 * reach, EYE_HEIGHT]),
                np.array([middle[0], middle[1], EYE_HEIGHT]),
                width,
                height,
            )
        case Stand.IN_FRONT:
            direction = np.array([0.55, -0.85, 0.2])
        case Stand.FROM_ABOVE:
            # the longer side lies across the picture
            is_wide = high[0] - low[0] >= high[1] - low[1]
            direction = np.array([0.0, -0.02, 1.0] if is_wide else [0.02, 0.0, 1.0])
    direction = direction / np.linalg.norm(direction)
    for _ in range(6):  # what is nearer looks larger: the middle of the piece isn't that of its picture
        camera = _far_enough(places, middle, direction, reach, width, height)
        seen = camera.see(places)
        aside = (seen.x.min() + seen.x.max() - width) / 2
        below = (seen.y.min() + seen.y.max() - height) / 2
        away = float(np.linalg.norm(camera.eye - middle))
        middle = middle + (aside * camera.axes[0] - below * camera.axes[1]) * away / camera.focal
    return _far_enough(places, middle, direction, reach, width, height)


def _far_enough(
    places: NDArray[np.float64],
    middle: NDArray[np.float64],
    direction: NDArray[np.float64],
    reach: float,
    width: int,
    height: int,
) -> Camera:
    """Return the camera in this direction from the middle, as near as the places fit, by halving."""
    near, far = 0.0, 20 * reach
    for _ in range(30):
        distance = (near + far) / 2
        seen = look_at(middle + distance * direction, middle, width, height).see(places)
        fits = (
            seen.is_before.all()
            and np.abs(seen.x - width / 2).max() <= FILLED * width / 2
            and np.abs(seen.y - height / 2).max() <= FILLED * height / 2
        )
        near, far = (near, distance) if fits else (distance, far)
    return look_at(middle + far * direction, middle, width, height)
