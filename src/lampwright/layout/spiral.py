"""Strip wound around a tube: a helix whose axis is the member's own path.

    r  from the tube's axis to the strip's middle    p  pitch, from turn to turn along the axis

Source: geometry of the circular helix, any text on curves: length per axis ``sqrt(1 + (2 pi r / p)²)``, radius of
curvature ``r + (p / 2 pi)² / r``.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.member import points_along
from lampwright.piece.model import FixedSection, Hoop

STRIP_THICKNESS = 0.005
"""Of a sleeved strip (common practice, no source). [m]"""

_STEP = 1e-4  # along the path, for its direction [m]


def strip_per_length(section: FixedSection) -> float:
    """Return how much strip lies on each length of the member: 1 unless it is wound. [1]"""
    if section.spiral is None:
        return 1.0
    return math.hypot(1.0, math.tau * strip_radius(section) / section.spiral)


def bend_radius(section: FixedSection) -> float:
    """Return the tightest radius to which a fixed section bends its strip; infinity where it lies straight. [m]"""
    shape = section.member.shape
    bend = shape.width / 2 if isinstance(shape, Hoop) else math.inf
    if section.spiral is not None:
        radius = strip_radius(section)
        bend = min(bend, radius + (section.spiral / math.tau) ** 2 / radius)
    return bend


def strip_radius(section: FixedSection) -> float:
    """Return the radius of the helix that the strip's middle follows. [m]

    The piece file's reader lets a spiral stand only on a member whose tube is known.
    """
    tube = section.member.support.tube
    assert tube is not None, "a spiral without a tube was let through"
    return (tube.outside.value + STRIP_THICKNESS) / 2


def points_around(section: FixedSection, along: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the (n, 3) places on the helix at these distances along the member's path [m]. [m]"""
    assert section.spiral is not None
    centre = points_along(section.member, along)
    forward = points_along(section.member, along + _STEP) - points_along(section.member, along - _STEP)
    forward /= np.linalg.norm(forward, axis=1, keepdims=True)
    turn = section.member.turn
    side = np.broadcast_to([-math.sin(turn), math.cos(turn), 0.0], forward.shape)  # square to the member's own plane
    other = np.cross(forward, side)
    angle = (math.tau / section.spiral * along)[:, None]
    return np.asarray(centre + strip_radius(section) * (np.cos(angle) * side + np.sin(angle) * other))
