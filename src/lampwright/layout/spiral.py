"""Strip wound around a tube: a helix whose axis is the member's own path.

    r  from the tube's axis to the strip's middle    p  pitch, from turn to turn along the axis

Source: geometry of the circular helix, any text on curves: length per axis ``sqrt(1 + (2 pi r / p)²)``, radius of
curvature ``r + (p / 2 pi)² / r``.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.member import directions_along, points_along, sides_along
from lampwright.piece.model import Arc, Bent, FixedSection, Hoop

STRIP_THICKNESS = 0.005
"""Of a sleeved strip (common practice, no source). [m]"""


def strip_per_length(section: FixedSection) -> float:
    """Return how much strip lies on each length of the member: 1 unless it is wound. [1]"""
    if section.spiral is None:
        return 1.0
    return math.hypot(1.0, math.tau * strip_radius(section) / section.spiral)


def bend_radius(section: FixedSection) -> float:
    """Return the tightest radius to which a fixed section bends its strip; infinity where it lies straight. [m]"""
    if section.leg is not None:
        return math.inf
    bend = _path_radius(section)
    if section.spiral is not None:
        radius = strip_radius(section)
        bend = min(bend, radius + (section.spiral / math.tau) ** 2 / radius)
    return bend


def _path_radius(section: FixedSection) -> float:
    """Return the tightest radius of the member's own path where strip lies on it. [m]"""
    match section.member.shape:
        case Hoop(width=width):
            return width / 2
        case Arc() as arc:
            return arc.radius
        case Bent(line=line):
            last = line.length - section.bare_end
            return min(line.bends_between(section.bare_start, last), default=math.inf)
        case _:
            return math.inf


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
    centre, forward = points_along(section.member, along), directions_along(section.member, along)
    side = sides_along(section.member, along)
    other = np.cross(forward, side)
    angle = (math.tau / section.spiral * along)[:, None]
    return np.asarray(centre + strip_radius(section) * (np.cos(angle) * side + np.sin(angle) * other))
