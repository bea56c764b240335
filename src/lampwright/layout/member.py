"""Members in space: where a distance along their path lies, and where their points are."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lampwright.piece.model import Anchor, Arc, Bent, Hoop, Member, Shape, Staff, Straight
from lampwright.piece.path import path_length

Reals = NDArray[np.float64]

_STEP = 1e-4  # along the path, for its direction [m]
_LEVEL = 1e-3
"""Ends that differ in height by less stand on the same ground. [m]"""


def points_along(member: Member, distance: Reals) -> Reals:
    """Return where these distances along the member's path lie.

    Parameters
    ----------
    distance : (n,) float64
        From the foot of a straight member or a bent one, or from the left foot of a hoop or an arc, which
        stands at x = -width/2 in the member's own axes. [m]

    Returns
    -------
    (n, 3) float64
        Places in the piece's axes. [m]
    """
    own = _turned(shape_points(member.shape, distance), member.turn)
    return np.asarray(own + np.array(member.position))


def directions_along(member: Member, distance: Reals) -> Reals:
    """Return the (n, 3) directions in which the path goes at these distances [m], of length 1."""
    if isinstance(member.shape, Bent):
        return _turned(member.shape.line.directions(distance), member.turn)
    toward = points_along(member, distance + _STEP) - points_along(member, distance - _STEP)
    return np.asarray(toward / np.linalg.norm(toward, axis=1, keepdims=True))


def sides_along(member: Member, distance: Reals) -> Reals:
    """Return the (n, 3) directions square to the path and to the member's own plane there, of length 1."""
    match member.shape:
        case Bent():
            own = member.shape.line.sides(distance)
        case Arc(lean=lean):
            own = np.broadcast_to([0.0, math.cos(lean), -math.sin(lean)], (len(distance), 3))
        case _:
            own = np.broadcast_to([0.0, 1.0, 0.0], (len(distance), 3))
    return _turned(own, member.turn)


def _turned(own: Reals, turn: float) -> Reals:
    """Turn the member's own axes into the piece's."""
    cos, sin = math.cos(turn), math.sin(turn)
    x, y, z = own[:, 0], own[:, 1], own[:, 2]
    return np.stack([x * cos - y * sin, x * sin + y * cos, z], axis=1)


def shape_points(shape: Shape, distance: Reals) -> Reals:
    """Return the (n, 3) places of these distances along the path, in the member's own axes. [m]"""
    match shape:
        case Straight(lean=lean):
            across, up = distance * math.sin(lean), distance * math.cos(lean)
        case Hoop(width=width, height=height):
            across, up = _hoop_points(width, height, distance)
        case Arc(rise=rise, lean=lean):
            angle = distance / shape.radius - shape.sweep / 2
            above = rise - shape.radius + shape.radius * np.cos(angle)
            across, up = shape.radius * np.sin(angle), above * math.cos(lean)
            return np.stack([across, above * math.sin(lean), up], axis=1)
        case Bent():
            return shape.line.points(distance)
    return np.stack([across, np.zeros_like(across), up], axis=1)


def anchor_place(anchor: Anchor) -> Reals:
    """Return the (3,) place of a named point of a member. [m]"""
    distance = _point_distance(anchor.member.shape, anchor.point)
    place: Reals = points_along(anchor.member, np.array([distance]))[0]
    return place


def feet_of(shape: Shape) -> Reals:
    """Return the (1, 3) or (2, 3) places at which a member stands, in its own axes. [m]

    A bent member stands on its end too where that is as low as its foot.
    """
    if isinstance(shape, Straight):
        return np.zeros((1, 3))
    ends = shape_points(shape, np.array([0.0, path_length(shape)]))
    if isinstance(shape, Bent) and ends[1, 2] > ends[0, 2] + _LEVEL:
        return ends[:1]
    return ends


def top_of(shape: Shape) -> float:
    """Return how high a member reaches above where it stands. [m]"""
    match shape:
        case Straight(length=length, lean=lean):
            return max(0.0, length * math.cos(lean))
        case Hoop(height=height):
            return height
        case _:
            along = np.linspace(0.0, path_length(shape), 401)
            return float(shape_points(shape, along)[:, 2].max() - feet_of(shape)[0, 2])


def _point_distance(shape: Shape, point: str) -> float:
    """Return how far along the path a named point lies. [m]"""
    if isinstance(shape, Staff) and point == "hand":
        return shape.grip
    if isinstance(shape, Bent) and point.startswith("corner "):
        return shape.line.corners[int(point.removeprefix("corner ")) - 1]
    share = {"foot": 0.0, "top": 1.0, "left foot": 0.0, "crown": 0.5, "right foot": 1.0, "end": 1.0}[point]
    return share * path_length(shape)


def _hoop_points(width: float, height: float, distance: Reals) -> tuple[Reals, Reals]:
    """Return x and z in the hoop's own axes: up the left leg, over the half circle, down the right leg."""
    radius = width / 2
    leg = height - radius
    arc = math.pi * radius
    angle = (np.clip(distance, leg, leg + arc) - leg) / radius  # 0 at the left spring line, pi at the right
    left = np.minimum(distance, leg)
    right_drop = np.maximum(distance - leg - arc, 0.0)
    return -radius * np.cos(angle), left + radius * np.sin(angle) - right_drop
