"""Members in space: how long their path is, and where a distance along it lies."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lampwright.piece.model import Anchor, Hoop, Member, Straight


def path_length(shape: Straight | Hoop) -> float:
    """Return the length of the member's path, from foot to top or from foot to foot. [m]"""
    match shape:
        case Straight(length=length):
            return length
        case Hoop(width=width, height=height):
            return 2 * (height - width / 2) + math.pi * width / 2


def points_along(member: Member, distance: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return where these distances along the member's path lie.

    Parameters
    ----------
    distance : (n,) float64
        From the foot of a straight member, or from the left foot of a hoop, which
        stands at x = -width/2 in the hoop's own axes. [m]

    Returns
    -------
    (n, 3) float64
        Places in the piece's axes. [m]
    """
    match member.shape:
        case Straight(lean=lean):
            across, up = distance * math.sin(lean), distance * math.cos(lean)
        case Hoop(width=width, height=height):
            across, up = _hoop_points(width, height, distance)
    x, y, z = member.position
    turn = member.turn
    return np.stack([x + across * math.cos(turn), y + across * math.sin(turn), z + up], axis=1)


def anchor_place(anchor: Anchor) -> NDArray[np.float64]:
    """Return the (3,) place of a named point of a member. [m]"""
    whole = path_length(anchor.member.shape)
    share = {"foot": 0.0, "top": 1.0, "left foot": 0.0, "crown": 0.5, "right foot": 1.0}[anchor.point]
    place: NDArray[np.float64] = points_along(anchor.member, np.array([share * whole]))[0]
    return place


def _hoop_points(
    width: float, height: float, distance: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return x and z in the hoop's own axes: up the left leg, over the half circle, down the right leg."""
    radius = width / 2
    leg = height - radius
    arc = math.pi * radius
    angle = (np.clip(distance, leg, leg + arc) - leg) / radius  # 0 at the left spring line, pi at the right
    left = np.minimum(distance, leg)
    right_drop = np.maximum(distance - leg - arc, 0.0)
    return -radius * np.cos(angle), left + radius * np.sin(angle) - right_drop
