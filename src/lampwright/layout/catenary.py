"""The curve of a span: an inextensible cord hanging under its own weight between two points.

Symbols, in a vertical plane with x along the ground from the start:

    L  horizontal distance between the ends      h  end above start (negative: below)
    f  dip under the chord, at x = L/2           c  horizontal tension over weight per length
    u  L / 2c                                    a  where the tangent is level
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

_STEEPEST_U = 512.0
"""Bound of the search: there the dip is 10^219 times the width."""


@dataclass(frozen=True)
class Catenary:
    """A solved curve, from its start at (0, 0). [m]"""

    width: float
    rise: float
    parameter: float
    level_at: float

    @property
    def length(self) -> float:
        """Length along the curve: sqrt(h² + (2c sinh u)²). [m]"""
        return math.hypot(self.rise, 2 * self.parameter * math.sinh(self.width / (2 * self.parameter)))

    def points(self, distance: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return x and height of the points at these distances along the curve from its start.

        The height is written as a product, ``2c sinh(x/2c) sinh((x - 2a)/2c)``, because the plain
        difference of two cosh loses all its digits on a nearly straight span.
        """
        c, a = self.parameter, self.level_at
        x = a + c * np.arcsinh(distance / c - math.sinh(a / c))
        height = 2 * c * np.sinh(x / (2 * c)) * np.sinh((x - 2 * a) / (2 * c))
        return x, height


def hang(width: float, rise: float, dip: float) -> Catenary:
    """Return the catenary with this dip below the middle of the chord.

    Parameters
    ----------
    width : float
        Horizontal distance between the ends, above zero. [m]
    rise : float
        Height of the end above the start. [m]
    dip : float
        Vertical distance from the chord's middle down to the curve, above zero. [m]

    Notes
    -----
    With ``sinh(m/c) = h / (2c sinh u)`` for the distance ``m`` from the level point to the
    middle, the dip is ``f = c (cosh u - 1) cosh(m/c)``, that is
    ``f/L = 1/2 sqrt(((cosh u - 1)/u)² + (h/L)² tanh²(u/2))``. Both terms rise with ``u``, so
    bisection finds the one solution.

    Source
    ------
    Catenary relations of any statics text, such as Beer and Johnston, Vector Mechanics for
    Engineers: Statics, section 7.10 (level ends); the form for uneven ends is derived above.
    """
    if not (width > 0 and dip > 0):
        raise ValueError(f"a catenary needs width and dip above zero, not {width} and {dip}")
    low, high = 0.0, 1.0
    while _dip_per_width(high, rise / width) < dip / width and high < _STEEPEST_U:
        low, high = high, 2 * high
    while (middle := (low + high) / 2) not in (low, high):
        if _dip_per_width(middle, rise / width) < dip / width:
            low = middle
        else:
            high = middle
    u = high
    c = width / (2 * u)
    from_level_to_middle = c * math.asinh(rise / (2 * c * math.sinh(u)))
    return Catenary(width, rise, c, width / 2 - from_level_to_middle)


def _dip_per_width(u: float, slope: float) -> float:
    """Return f/L; ``cosh u - 1`` is written ``2 sinh²(u/2)`` to keep its digits near zero."""
    return 0.5 * math.hypot(2 * math.sinh(u / 2) ** 2 / u, slope * math.tanh(u / 2))
