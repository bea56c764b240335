"""The curve of a span: an inextensible cord that hangs under a load spread evenly along it.

Everything takes and gives numpy arrays that broadcast, so that ten thousand spans are solved in one call.
Symbols, in the plane of the curve with x square to the load and y against it, from the start:

    L  width, the distance between the ends along x   h  rise of the end above the start (negative: below)
    f  sag under the chord, at x = L/2                c  pull along x over load per length
    S  length along the curve                         u  L / 2c
    w  load per length                                T  tension at the higher end, the greatest
    a  where the tangent is level

Three relations hold for level and for uneven ends alike:

    S² = h² + (2c sinh u)²        f = S/2 tanh(u/2)        T/w = (|h| + S coth u) / 2

The first and the third are in any statics text (Beer and Johnston, Vector Mechanics for Engineers: Statics,
section 7.10; Irvine, Cable Structures, section 1.2; both from memory). The second follows from the first with
``f² = c² (cosh u - 1)² + (h/2)² tanh²(u/2)``; for level ends it is the texts' ``c = (S²/4 - f²) / 2f``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]
Real = float | Reals

_LEAST_U, _STEEPEST_U = 1e-12, 512.0
"""Bounds of the search: sags from 10^-13 to 10^219 times the width."""
_HALVINGS = 64  # the bounds are 34 apart in the logarithm; this leaves 2e-18 of it


@dataclass(frozen=True)
class Catenary:
    """One curve or many, each from its start at (0, 0); all fields have one shape. [m]"""

    width: Reals
    rise: Reals
    parameter: Reals
    level_at: Reals

    @property
    def length(self) -> Reals:
        """Length along the curve. [m]"""
        return _length(self.width, self.rise, self._u)

    @property
    def sag(self) -> Reals:
        """Distance from the chord's middle to the curve, along the load. [m]"""
        sag: Reals = self.length / 2 * np.tanh(self._u / 2)
        return sag

    @property
    def level_after(self) -> Reals:
        """Length along the curve from the start to where the tangent is level; may lie outside it. [m]"""
        after: Reals = self.parameter * np.sinh(self.level_at / self.parameter)
        return after

    def points(self, distance: Reals) -> tuple[Reals, Reals]:
        """Return x and height of the points at these distances along the curve from its start.

        ``distance`` broadcasts against the curves. The height is written as a product,
        ``2c sinh(x/2c) sinh((x - 2a)/2c)``, because the plain difference of two cosh loses all its
        digits on a nearly straight span.
        """
        c, a = self.parameter, self.level_at
        x = a + c * np.arcsinh(distance / c - np.sinh(a / c))
        height = 2 * c * np.sinh(x / (2 * c)) * np.sinh((x - 2 * a) / (2 * c))
        return x, height

    def slope(self, distance: Real) -> Reals:
        """Return dy/dx at these distances along the curve from its start. [1]"""
        return np.asarray((distance - self.level_after) / self.parameter, dtype=np.float64)

    def tension(self, distance: Real, weight: Real) -> Reals:
        """Return the tension at these distances along the curve, with this load per length [N/m]. [N]"""
        return np.asarray(weight * np.hypot(self.parameter, distance - self.level_after), dtype=np.float64)

    def greatest_tension(self, weight: Real) -> Reals:
        """Return the tension at the higher end, with this load per length [N/m]. [N]"""
        return np.asarray(weight * (np.abs(self.rise) + self.length / np.tanh(self._u)) / 2, dtype=np.float64)

    @property
    def _u(self) -> Reals:
        return self.width / (2 * self.parameter)


def hang(width: Real, rise: Real, dip: Real) -> Catenary:
    """Return the curves with this sag below the middle of their chords.

    Parameters
    ----------
    width, rise, dip : float64, one or an array
        ``L``, ``h`` and ``f``; width and dip above zero. [m]

    Raises
    ------
    ValueError
        Where no curve can be.
    """
    if not np.all(np.greater(width, 0) & np.greater(dip, 0)):
        raise ValueError(f"a catenary needs width and dip above zero, not {width} and {dip}")
    width, rise, dip = _together(width, rise, dip)
    return _curve(width, rise, _rising(lambda u: _length(width, rise, u) / 2 * np.tanh(u / 2), dip))


def hang_by_length(width: Real, rise: Real, length: Real) -> Catenary:
    """Return the curves of cords with these lengths, ``S`` above the chord. [m]"""
    width, rise, length = _together(width, rise, length)
    if not np.all((width > 0) & (length > np.hypot(width, rise))):
        raise ValueError("a catenary needs width above zero and more length than its chord")
    return _curve(width, rise, _rising(lambda u: _length(width, rise, u), length))


def hang_by_tension(width: Real, rise: Real, weight: Real, tension: Real) -> Catenary:
    """Return the flatter of the two curves whose tension at the higher end is ``T`` [N] under ``w`` [N/m].

    ``(S coth u)²`` is a sum of two convex functions of ``u``, so it has one lowest point; the flatter
    curve lies on its left.

    Raises
    ------
    ValueError
        Less tension than any cord of this width and weight has.
    """
    width, rise, weight, tension = _together(width, rise, weight, tension)
    wanted = 2 * tension / weight - np.abs(rise)

    def excess(u: Reals) -> Reals:
        return np.hypot(rise / np.tanh(u), width * np.cosh(u) / u)

    def falls(u: Reals) -> Reals:
        """Return the sign-giving part of the derivative of (S coth u)²/2."""
        coth = 1 / np.tanh(u)
        steep: Reals = width**2 * np.cosh(u) * (u * np.sinh(u) - np.cosh(u)) / u**3 - rise**2 * coth / np.sinh(u) ** 2
        return steep

    lowest = _rising(falls, np.zeros_like(width), most=300.0)
    if not np.all((width > 0) & (weight > 0) & (wanted >= excess(lowest))):
        raise ValueError("a catenary of this width and weight has more tension than that")
    return _curve(width, rise, _rising(lambda u: -excess(u), -wanted, most=lowest))


def hang_by_sag_and_length(rise: Real, dip: Real, length: Real) -> Catenary:
    """Return the curves of these sags and lengths, their widths found: ``u = 2 atanh(2f/S)``. [m]"""
    rise, dip, length = _together(rise, dip, length)
    if not np.all((dip > 0) & (length > 2 * dip) & (length > np.abs(rise))):
        raise ValueError("a catenary needs more length than twice its sag and than its rise")
    return _curve_of_length(rise, length, 2 * np.arctanh(2 * dip / length))


def hang_by_sag_and_tension(rise: Real, dip: Real, weight: Real, tension: Real) -> Catenary:
    """Return the curves of this sag [m] and tension at the higher end [N] under ``w`` [N/m], widths found.

    With ``t = tanh(u/2)`` the third relation is ``T/w = |h|/2 + f (1 + t²) / 2t²``.
    """
    rise, dip, weight, tension = _together(rise, dip, weight, tension)
    ratio = (tension / weight - np.abs(rise) / 2) / dip
    if not np.all((dip > 0) & (ratio > 1)):
        raise ValueError("a catenary of this sag has more tension than that")
    t = 1 / np.sqrt(2 * ratio - 1)
    length = 2 * dip / t
    if not np.all(length > np.abs(rise)):
        raise ValueError("a catenary of this sag and tension can't reach that high")
    return _curve_of_length(rise, length, 2 * np.arctanh(t))


def hang_by_length_and_tension(rise: Real, length: Real, weight: Real, tension: Real) -> Catenary:
    """Return the curves of this length [m] and tension at the higher end [N] under ``w`` [N/m], widths found."""
    rise, length, weight, tension = _together(rise, length, weight, tension)
    share = length / (2 * tension / weight - np.abs(rise))
    if not np.all((length > np.abs(rise)) & (share > 0) & (share < 1)):
        raise ValueError("a cord of this length needs more tension, at least half its weight at each end")
    return _curve_of_length(rise, length, np.arctanh(share))


def _length(width: Reals, rise: Reals, u: Reals) -> Reals:
    return np.asarray(np.hypot(rise, width * np.sinh(u) / u), dtype=np.float64)


def _curve(width: Reals, rise: Reals, u: Reals) -> Catenary:
    c = width / (2 * u)
    from_level_to_middle = c * np.arcsinh(rise / (2 * c * np.sinh(u)))
    return Catenary(width, rise, c, width / 2 - from_level_to_middle)


def _curve_of_length(rise: Reals, length: Reals, u: Reals) -> Catenary:
    width = np.sqrt((length - rise) * (length + rise)) * u / np.sinh(u)
    return _curve(width, rise, u)


def _together(*values: Real) -> tuple[Reals, ...]:
    return tuple(np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in values)))


def _rising(function: Callable[[Reals], Reals], wanted: Reals, most: Real = _STEEPEST_U) -> Reals:
    """Return where a function that rises with ``u`` takes these values, by halving in the logarithm of u."""
    low = np.full(wanted.shape, np.log(_LEAST_U))
    high = np.array(np.broadcast_to(np.log(most), wanted.shape))
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        is_below = function(np.exp(middle)) < wanted
        low, high = np.where(is_below, middle, low), np.where(is_below, high, middle)
    return np.asarray(np.exp(high), dtype=np.float64)
