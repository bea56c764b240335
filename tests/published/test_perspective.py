"""Perspective as the open graphics standard defines it.

The OpenGL Graphics System Utility Library, version 1.3: gluLookAt and gluPerspective; The OpenGL Graphics System,
version 2.1, section 2.11, coordinate transformations (both from memory).
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from lampwright.page.camera import FIELD_ANGLE, look_at

Vector = NDArray[np.float64]
SIDE = st.floats(-20, 20)


def look_at_matrix(eye: Vector, target: Vector, upward: Vector) -> Vector:
    """Return gluLookAt's matrix."""
    forward = (target - eye) / np.linalg.norm(target - eye)
    side = np.cross(forward, upward / np.linalg.norm(upward))
    up = np.cross(side / np.linalg.norm(side), forward)
    turned = np.eye(4)
    turned[0, :3], turned[1, :3], turned[2, :3] = side / np.linalg.norm(side), up, -forward
    moved = np.eye(4)
    moved[:3, 3] = -eye
    return turned @ moved


def perspective_matrix(angle: float, aspect: float, near: float, far: float) -> Vector:
    """Return gluPerspective's matrix."""
    f = 1 / np.tan(angle / 2)
    depth = near - far
    return np.array(
        [[f / aspect, 0, 0, 0], [0, f, 0, 0], [0, 0, (far + near) / depth, 2 * far * near / depth], [0, 0, -1, 0]]
    )


@given(st.tuples(SIDE, SIDE, SIDE), st.tuples(SIDE, SIDE, SIDE), st.tuples(SIDE, SIDE, SIDE))
def test_a_place_falls_on_the_picture_where_the_standard_says(
    eye: tuple[float, float, float], target: tuple[float, float, float], place: tuple[float, float, float]
) -> None:
    width, height = 1280, 720
    seen_from, looks_to = np.array(eye), np.array(target)
    along = looks_to - seen_from
    if np.hypot(along[0], along[1]) < 0.1:
        return  # straight up or down the standard has no answer
    seen = look_at(seen_from, looks_to, width, height).see(np.array([place]))
    matrix = perspective_matrix(FIELD_ANGLE, width / height, 0.1, 1000) @ look_at_matrix(
        seen_from, looks_to, np.array([0.0, 0.0, 1.0])
    )
    clip = matrix @ np.array([*place, 1.0])
    assert seen.depth[0] == pytest.approx(clip[3], abs=1e-6)
    assert bool(seen.is_before[0]) == (seen.depth[0] > 0.1)
    if seen.is_before[0]:
        assert seen.x[0] == pytest.approx((clip[0] / clip[3] + 1) / 2 * width, rel=1e-6, abs=1e-6)
        assert seen.y[0] == pytest.approx((1 - clip[1] / clip[3]) / 2 * height, rel=1e-6, abs=1e-6)
