"""How long a member's path is.

Source: geometry of the circle; ``sweep = 4 atan(2 h / c)`` for a chord c and a rise h, as in any handbook's table of
segments of circles.
"""

from __future__ import annotations

import math

from lampwright.piece.model import Arc, Bent, Hoop, Shape, Straight


def path_length(shape: Shape) -> float:
    """Return the length of the member's path, from foot to top or from foot to foot. [m]"""
    match shape:
        case Straight(length=length):
            return length
        case Hoop(width=width, height=height):
            return 2 * (height - width / 2) + math.pi * width / 2
        case Arc():
            return shape.radius * shape.sweep
        case Bent():
            return shape.line.length
