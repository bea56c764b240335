"""What the page draws lies where the piece is."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.page.scene import STRAIGHT, bends_of, outline, scene_of
from lampwright.piece.model import Piece
from lampwright.show import CircuitShow

COORDINATE = st.integers(-3000, 3000).map(lambda millimetres: millimetres / 1000)


def beside(points: list[float], corners: list[float]) -> float:
    """Return how far the farthest of these points lies from the nearest straight line between corners. [m]"""
    place, ends = np.array(points).reshape(-1, 3), np.array(corners).reshape(-1, 3)
    start, way = ends[:-1], np.diff(ends, axis=0)
    off = place[:, None] - start
    along = np.clip((off * way).sum(axis=2) / np.maximum((way * way).sum(axis=1), 1e-12), 0, 1)
    return float(np.linalg.norm(off - along[..., None] * way, axis=2).min(axis=1).max())


@given(st.lists(st.tuples(COORDINATE, COORDINATE, COORDINATE), min_size=2, max_size=40))
def test_no_point_of_a_member_is_left_aside(places: list[tuple[float, float, float]]) -> None:
    points = [value for place in places for value in place]
    assert beside(points, bends_of(points)) <= STRAIGHT + 1e-9


def test_a_straight_member_is_drawn_by_its_ends_and_a_large_arc_by_many_points() -> None:
    straight = [value for step in range(101) for value in (0.0, 0.05 * step, 0.01 * step)]
    assert bends_of(straight) == [*straight[:3], *straight[-3:]]
    turns = np.linspace(0, math.pi / 2, 200)
    arc = np.round(np.stack([5 * np.cos(turns), 5 * np.sin(turns), 0 * turns], axis=1), 3)
    # a chord of an arc of 5 m that passes it by 2 mm is 0.28 m long: 28 of them
    assert 28 <= len(bends_of(arc.reshape(-1).tolist())) // 3 - 1 <= 60


@pytest.fixture(scope="module")
def corners(frost_gate: Piece, shows: tuple[CircuitShow, ...]) -> list[list[float]]:
    return [member["points"] for member in scene_of(frost_gate, shows)["members"]]


def test_the_hoops_of_frost_gate_are_drawn_round(frost_gate: Piece, corners: list[list[float]]) -> None:
    for member, points in zip(frost_gate.members, corners, strict=True):
        assert 10 < len(points) // 3 < 60
        assert beside(outline(member), points) <= STRAIGHT + 1e-9
