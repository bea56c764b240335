"""Members as tube: the straight lengths and bends that they are made of.

Source: geometry of the circle that touches two lines, as in :mod:`lampwright.piece.rounded`.
"""

from __future__ import annotations

import math

import numpy as np

from lampwright.piece.model import Arc, Bent, Hoop, Shape, Straight
from lampwright.stock import Bend, BentTube

_STRAIGHT = 1e-9
"""A corner that turns by less is none. [rad]"""


def bent_tube(shape: Shape) -> BentTube | None:
    """Return the tube that a member is made of; ``None`` where it is straight."""
    match shape:
        case Straight():
            return None
        case Hoop(width=width, height=height):
            leg = height - width / 2
            return BentTube((leg, leg), (Bend(width / 2, math.pi),))
        case Arc():
            return BentTube((0.0, 0.0), (Bend(shape.radius, shape.sweep),))
        case Bent():
            return _through_points(shape)


def _through_points(shape: Bent) -> BentTube | None:
    line = shape.line
    steps = np.diff(np.array(shape.points), axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    toward = steps / lengths[:, None]
    # what each bend takes of the straight before and after it
    taken = [r * math.tan(angle / 2) if angle else 0.0 for r, angle in zip(line.radii, line.angles, strict=True)]
    legs, bends = [float(lengths[0])], list[Bend]()
    axis_before = None
    for number, (angle, radius) in enumerate(zip(line.angles, line.radii, strict=True)):
        if angle < _STRAIGHT:
            legs[-1] += float(lengths[number + 1])
            continue
        axis = np.cross(toward[number], toward[number + 1])
        axis /= np.linalg.norm(axis)
        turned = 0.0
        if axis_before is not None:
            turned = math.atan2(float(toward[number] @ np.cross(axis_before, axis)), float(axis_before @ axis))
            turned = math.pi if turned <= _STRAIGHT - math.pi else turned  # both turn it right over
        legs[-1] -= taken[number]
        legs.append(float(lengths[number + 1]) - taken[number])
        bends.append(Bend(radius, angle, turned))
        axis_before = axis
    return BentTube(tuple(max(0.0, leg) for leg in legs), tuple(bends)) if bends else None
