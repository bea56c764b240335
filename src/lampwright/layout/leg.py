"""One leg of a zigzag: a straight stretch of strip across a member, or from one member to another."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.member import points_along, sides_along
from lampwright.piece.model import FixedSection, Leg

Reals = NDArray[np.float64]


def leg_ends(section: FixedSection) -> Reals:
    """Return the (2, 3) places where a leg begins and ends, its clear ends left out. [m]

    A leg that has no length keeps its two ends in one place.
    """
    leg = _leg(section)
    member, at = section.member, np.array([leg.at])
    start = points_along(member, at)[0] + leg.start_aside * sides_along(member, at)[0]
    other_at = np.array([leg.other_at])
    end = points_along(leg.other, other_at)[0] + leg.end_aside * sides_along(leg.other, other_at)[0]
    whole = float(np.linalg.norm(end - start))
    if whole <= 2 * leg.clear:
        middle = (start + end) / 2
        return np.stack([middle, middle])
    cut = (end - start) * (leg.clear / whole)
    return np.stack([start + cut, end - cut])


def _leg(section: FixedSection) -> Leg:
    assert section.leg is not None, "a section that is no leg was taken for one"
    return section.leg
