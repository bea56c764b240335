"""Lines through points in space whose corners are rounded: bent tube, and paths that patterns follow.

At a corner that turns by the angle a, a bend of radius r begins and ends ``t = r tan(a/2)`` from the corner and is
``r a`` long.

Source: geometry of the circle that touches two lines; the same rule by which tube is marked for bending.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]
Point = tuple[float, float, float]

_STRAIGHT = 1e-9
"""A corner that turns by less is none. [rad]"""
_ROUNDING = 1e-9
"""Bends may touch, up to rounding. [m]"""


class BendError(ValueError):
    """A line that can't be bent so; ``corner`` counts from 1, 0 stands for the points themselves."""

    def __init__(self, corner: int, found: str, allowed: str) -> None:
        super().__init__(f"{found}; {allowed}")
        self.corner = corner
        self.found = found
        self.allowed = allowed


@dataclass(frozen=True)
class _Straight:
    """A stretch without a bend."""

    start: Reals  # (3,) [m]
    toward: Reals  # (3,) of length 1
    length: float  # [m]

    def at(self, distance: Reals) -> Reals:
        return np.asarray(self.start + distance[:, None] * self.toward)

    def toward_at(self, distance: Reals) -> Reals:
        return np.broadcast_to(self.toward, (len(distance), 3))

    def carried(self, aside: Reals, distance: Reals) -> Reals:
        return np.broadcast_to(aside, (len(distance), 3))


@dataclass(frozen=True)
class _Bend:
    """A part of a circle: at the angle b it is at ``centre + r (u cos b + v sin b)``."""

    centre: Reals  # (3,) [m]
    u: Reals  # (3,) from the centre to where it begins, of length 1
    v: Reals  # (3,) the direction in which it begins, of length 1
    radius: float  # [m]
    angle: float  # [rad]

    @property
    def length(self) -> float:
        return self.radius * self.angle

    def at(self, distance: Reals) -> Reals:
        angle = (distance / self.radius)[:, None]
        return np.asarray(self.centre + self.radius * (np.cos(angle) * self.u + np.sin(angle) * self.v))

    def toward_at(self, distance: Reals) -> Reals:
        angle = (distance / self.radius)[:, None]
        return np.asarray(np.cos(angle) * self.v - np.sin(angle) * self.u)

    def carried(self, aside: Reals, distance: Reals) -> Reals:
        # A turn about the bend's axis moves only what lies in its plane: the part along u, toward -v and back.
        axis = np.cross(self.u, self.v)
        angle = (distance / self.radius)[:, None]
        turned = np.cos(angle) * self.u + np.sin(angle) * self.v
        return np.asarray((aside @ axis) * axis + (aside @ self.u) * turned)


@dataclass(frozen=True)
class RoundedLine:
    """A line of straight stretches and bends, one after the other."""

    parts: tuple[_Straight | _Bend, ...]
    corners: tuple[float, ...]
    """Where the middle of each corner lies along the line. [m]"""
    radii: tuple[float, ...]
    """Of each corner. [m]"""
    angles: tuple[float, ...]
    """By which each corner turns; 0 where the line goes straight on. [rad]"""

    @cached_property
    def starts(self) -> Reals:
        """Where each part begins along the line. [m]"""
        return np.concatenate([[0.0], np.cumsum([part.length for part in self.parts])[:-1]])

    @property
    def length(self) -> float:
        """Of the whole line. [m]"""
        return float(sum(part.length for part in self.parts))

    def points(self, distance: Reals) -> Reals:
        """Return the (n, 3) places at these distances from the first point; beyond an end it goes straight on. [m]"""
        return self._each(distance, lambda index, own: self.parts[index].at(own))

    def directions(self, distance: Reals) -> Reals:
        """Return the (n, 3) directions in which the line goes there, of length 1."""
        return self._each(distance, lambda index, own: self.parts[index].toward_at(own))

    def bends_between(self, first: float, last: float) -> tuple[float, ...]:
        """Return the radii of the corners that lie, even in part, between two distances [m]. [m]"""
        reach = [radius * angle / 2 if angle else 0.0 for radius, angle in zip(self.radii, self.angles, strict=True)]
        return tuple(
            radius
            for corner, radius, half, angle in zip(self.corners, self.radii, reach, self.angles, strict=True)
            if angle and corner + half > first and corner - half < last
        )

    def sides(self, distance: Reals) -> Reals:
        """Return the (n, 3) directions square to the line that turn no more than it bends, of length 1.

        The first is as near to the y axis as it can be.
        """
        return self._each(distance, lambda index, own: self.parts[index].carried(self._sides_at_starts[index], own))

    @cached_property
    def _sides_at_starts(self) -> tuple[Reals, ...]:
        """The side at the start of each part, carried there from the first."""
        toward = self.parts[0].toward_at(np.zeros(1))[0]
        aside = _square_to(toward)
        at_start = []
        for part in self.parts:
            aside = _turned_with(aside, toward, part.toward_at(np.zeros(1))[0])
            at_start.append(aside)
            end = np.array([part.length])
            aside, toward = part.carried(aside, end)[0], part.toward_at(end)[0]
        return tuple(at_start)

    def _each(self, distance: Reals, of_part: Callable[[int, Reals], Reals]) -> Reals:
        """Return what a part, by its number, gives at its own distances, for every part that has any."""
        found = np.empty((len(distance), 3))
        which = np.clip(np.searchsorted(self.starts, distance, side="right") - 1, 0, len(self.parts) - 1)
        for index in np.unique(which).tolist():
            own = which == index
            found[own] = of_part(index, distance[own] - self.starts[index])
        return found


@lru_cache(maxsize=256)
def rounded_line(points: tuple[Point, ...], radii: tuple[float, ...]) -> RoundedLine:
    """Return the line through ``points`` with a bend at each corner.

    Parameters
    ----------
    points
        At least two, no two neighbours in one place. [m]
    radii
        One for each corner, that is two fewer than points; 0 is a sharp corner. [m]

    Raises
    ------
    BendError
        Two points in one place, a corner that turns right back, or bends that need more length than there is.
    """
    places = [np.array(point) for point in points]
    steps = [after - before for before, after in itertools.pairwise(places)]
    lengths = [float(np.linalg.norm(step)) for step in steps]
    for number, length in enumerate(lengths, start=1):
        if length < _ROUNDING:
            raise BendError(0, f"points {number} and {number + 1} are in one place", "points that are apart")
    toward = [step / length for step, length in zip(steps, lengths, strict=True)]
    turned = [_angle_between(one, other) for one, other in itertools.pairwise(toward)]
    cuts = [0.0, *_cuts(turned, radii), 0.0]
    _check_room(lengths, cuts, turned, radii)

    parts: list[_Straight | _Bend] = []
    corners = []
    length = 0.0
    for index, straight in enumerate(lengths):
        left = max(0.0, straight - cuts[index] - cuts[index + 1])
        if left > 0 or len(lengths) == 1:
            parts.append(_Straight(places[index] + cuts[index] * toward[index], toward[index], left))
            length += left
        if index == len(radii):
            break
        bend = _bend(places[index + 1], toward[index], toward[index + 1], turned[index], radii[index])
        own = bend.length if bend else 0.0
        corners.append(length + own / 2)
        if bend:
            parts.append(bend)
            length += own
    return RoundedLine(
        tuple(parts), tuple(corners), radii, tuple(angle if angle >= _STRAIGHT else 0.0 for angle in turned)
    )


def _square_to(toward: Reals) -> Reals:
    """Return the direction square to another that is nearest to the y axis, or to the x axis where that can't be."""
    for axis in (np.array([0.0, 1.0, 0.0]), np.array([1.0, 0.0, 0.0])):
        aside = axis - (axis @ toward) * toward
        size = float(np.linalg.norm(aside))
        if size > 0.1:
            break
    return np.asarray(aside / size)


def _turned_with(aside: Reals, before: Reals, after: Reals) -> Reals:
    """Return a direction turned as a sharp corner turns the line, from ``before`` to ``after``."""
    axis = np.cross(before, after)
    sine, cosine = float(np.linalg.norm(axis)), float(before @ after)
    if sine < _STRAIGHT:
        return aside
    axis /= sine
    # Rodrigues' rotation.
    return np.asarray(cosine * aside + sine * np.cross(axis, aside) + (1 - cosine) * (axis @ aside) * axis)


def _angle_between(one: Reals, other: Reals) -> float:
    """Return the angle between two unit vectors, exact for small ones too. [rad]"""
    return 2 * math.atan2(float(np.linalg.norm(one - other)), float(np.linalg.norm(one + other)))


def _cuts(turned: Sequence[float], radii: Sequence[float]) -> list[float]:
    """Return how far before and after each corner its bend reaches. [m]"""
    cuts = []
    for corner, (angle, radius) in enumerate(zip(turned, radii, strict=True), start=1):
        if angle > math.pi - 1e-6:
            raise BendError(corner, f"the line turns right back at corner {corner}", "a corner that leaves some angle")
        cuts.append(radius * math.tan(angle / 2) if angle >= _STRAIGHT else 0.0)
    return cuts


def _check_room(
    lengths: Sequence[float], cuts: Sequence[float], turned: Sequence[float], radii: Sequence[float]
) -> None:
    for index, length in enumerate(lengths):
        needed = cuts[index] + cuts[index + 1]
        if needed > length + _ROUNDING:
            corner = index + 1 if cuts[index + 1] >= cuts[index] else index
            share = length / needed
            most = radii[corner - 1] * share
            raise BendError(
                corner,
                f"the bends on both sides of points {index + 1} and {index + 2}, {length:.3g} m apart, need "
                f"{needed:.3g} m",
                f"a radius of at most {math.floor(most * 1000) / 1000:g} m at corner {corner}"
                + (" and as much less at its neighbour" if min(cuts[index], cuts[index + 1]) > 0 else "")
                + f", which turns by {math.degrees(turned[corner - 1]):.3g} deg",
            )


def _bend(corner: Reals, before: Reals, after: Reals, angle: float, radius: float) -> _Bend | None:
    if angle < _STRAIGHT or radius <= 0.0:
        return None
    inward = after - before
    inward /= np.linalg.norm(inward)
    centre = corner + inward * radius / math.cos(angle / 2)
    begin = corner - before * radius * math.tan(angle / 2)
    return _Bend(centre, (begin - centre) / radius, before, radius, angle)
