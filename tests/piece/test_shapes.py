"""What the file says of a member is what stands there, however often it is repeated."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.layout import lay_out
from lampwright.piece import Piece, piece_from_text
from lampwright.piece.model import Arc, Bent, Member, Shape, SpanSection, Staff, Straight
from tests.piece.conftest import changed

LENGTH = 'shape = "straight"\nlength = "6 ft 6 in"'
ROW = 'repeat = { pattern = "row", count = 3, step = ["2 m", "0 m", "0 m"] }'


def members(*changes: tuple[str, str]) -> tuple[Member, ...]:
    return piece_from_text(changed(*changes), Path("piece.toml")).members


@pytest.mark.parametrize(
    ("keys", "shape"),
    [
        ('shape = "arc"\nchord = "3 m"\nrise = "1 m"', Arc(3.0, 1.0, 0.0)),
        ('shape = "arc"\nchord = "10 ft"\nrise = "3 ft 3 in"\nlean = "10 deg"', Arc(3.048, 0.9906, math.radians(10))),
        ('shape = "arc"\nradius = "2 m"\nchord = "2 m"', Arc(2.0, 2 - math.sqrt(3), 0.0)),
        ('shape = "arc"\nradius = "2 m"\nsweep = "1/2 turn"', Arc(4.0, 2.0, 0.0)),
        ('shape = "arc"\nradius = "24 in"\nsweep = "360 deg"', Arc(0.0, 1.2192, 0.0)),
        (
            'shape = "bent"\nbend = "6 in"\n'
            'points = [["0 m", "0 m", "0 m"], ["0 m", "0 in", "8 ft"], ["1 yd", "0 m", "8 ft"]]',
            Bent(((0.0, 0.0, 0.0), (0.0, 0.0, 2.4384), (0.9144, 0.0, 2.4384)), (0.1524,)),
        ),
        (
            'shape = "bent"\nbend = ["10 cm", "1/2 ft"]\n'
            'points = [["0 m", "0 m", "0 m"], ["0 m", "0 m", "2 m"], ["1 m", "0 m", "2 m"], ["1 m", "0 m", "0 m"]]',
            Bent(((0.0, 0.0, 0.0), (0.0, 0.0, 2.0), (1.0, 0.0, 2.0), (1.0, 0.0, 0.0)), (0.1, 0.1524)),
        ),
    ],
)
def test_shapes_are_read_in_any_units(keys: str, shape: Shape) -> None:
    ends = "foot" if isinstance(shape, Bent) else "crown"
    read = members((LENGTH, keys), ('"top", to = "next top"', f'"{ends}", to = "next {ends}"'))
    assert type(read[0].shape) is type(shape)
    for name in ("chord", "rise", "lean", "radii"):
        if hasattr(shape, name):
            assert getattr(read[0].shape, name) == pytest.approx(getattr(shape, name), rel=1e-12, abs=1e-12)
    if isinstance(shape, Bent):
        assert isinstance(read[0].shape, Bent)
        assert np.array(read[0].shape.points) == pytest.approx(np.array(shape.points))


def test_staff_stands_where_the_hand_is() -> None:
    keys = 'shape = "staff"\nlength = "6 ft"\nheld = "3 ft 3 in"\ngrip = "2 ft"\nlean = "10 deg"\nturn = "90 deg"'
    first, second, _ = members((LENGTH, keys))
    grip, lean = 2 * 0.3048, math.radians(10)
    assert first.shape == Staff(1.8288, lean, grip)
    assert first.position == pytest.approx((0.0, -grip * math.sin(lean), 0.9906 - grip * math.cos(lean)))
    assert second.position[0] - first.position[0] == pytest.approx(2.0)


def test_corners_of_bent_members_can_be_spanned(read_changed: Callable[..., Piece]) -> None:
    keys = (
        'shape = "bent"\npoints = [["0 m", "0 m", "0 m"], ["0 m", "0 m", "2 m"], ["1 m", "0 m", "2 m"]]\nbend = "10 cm"'
    )
    piece = read_changed((LENGTH, keys), ('"top", to = "next top"', '"corner 1", to = "next end"'))
    span = piece.circuits[0].runs[1].sections[0]
    assert isinstance(span, SpanSection)
    assert (span.start.point, span.end.point) == ("corner 1", "end")
    lay_out(piece)


def test_members_along_a_path_face_along_it_at_equal_steps() -> None:
    path = (
        'repeat = { pattern = "path", points = [["0 m", "0 m", "0 m"], ["0 m", "6 m", "0 m"], ["6 m", "6 m", "0 m"]], '
        'bend = "2 m", spacing = "1.5 m" }'
    )
    placed = members((ROW, path), ("[[member]]\n", '[[member]]\nat = ["1 m", "0 m", "0 m"]\n'))
    # 4 m, a quarter circle of 2 m, 4 m: 11.14 m hold seven steps of 1.5 m.
    assert len(placed) == 8
    places = np.array([member.position for member in placed])
    assert places[:3] == pytest.approx(np.array([[1.0, 0.0, 0.0], [1.0, 1.5, 0.0], [1.0, 3.0, 0.0]]))
    assert placed[0].turn == pytest.approx(0.0)
    assert placed[-1].turn == pytest.approx(-math.pi / 2)
    in_bend = [member for member in placed if 1.0 + 1e-6 < member.position[0] < 3.0]
    for member in in_bend:
        assert math.hypot(member.position[0] - 3.0, member.position[1] - 4.0) == pytest.approx(2.0)


def test_members_along_a_path_by_count_reach_from_end_to_end() -> None:
    path = 'repeat = { pattern = "path", points = [["0 m", "0 m", "0 m"], ["9 ft", "0 m", "0 m"]], count = 4 }'
    assert [member.position[0] for member in members((ROW, path))] == pytest.approx([0.0, 0.9144, 1.8288, 2.7432])


ANGLES = st.integers(-180, 180)
MIRRORED = [
    'shape = "straight"\nlength = "2 m"\nlean = "{lean} deg"',
    'shape = "hoop"\nwidth = "1 m"\nheight = "2 m"',
    'shape = "arc"\nchord = "2 m"\nrise = "1 m"\nlean = "{lean} deg"',
    'shape = "bent"\nbend = "10 cm"\n'
    'points = [["0 m", "0 m", "0 m"], ["30 cm", "{lean} mm", "2 m"], ["1 m", "-60 cm", "2.5 m"]]',
    'shape = "staff"\nlength = "2 m"\nheld = "1 m"\ngrip = "60 cm"\nlean = "{lean} deg"',
]


@pytest.mark.parametrize("keys", MIRRORED)
@given(lean=st.integers(-40, 40), turn=ANGLES, x=st.integers(-50, 50), across=st.sampled_from(["x", "y"]))
@settings(max_examples=15, deadline=None)
def test_mirrored_members_carry_mirrored_pixels(keys: str, lean: int, turn: int, x: int, across: str) -> None:
    mirror = f'repeat = {{ pattern = "mirrored", across = "{across}", plane = "1.25 m" }}'
    put = f'at = ["{x / 10} m", "0.4 m", "3 m"]\nturn = "{turn} deg"\n'
    text = changed((LENGTH, put + keys.format(lean=lean)), (ROW, mirror))
    text = text[: text.index('[[circuit.run]]\nname = "line"')] + text[text.index("[show]") :]
    one, other = (circuit.xyz for circuit in lay_out(piece_from_text(text, Path("piece.toml"))).circuits)
    axis = "xy".index(across)
    expected = one.copy()
    expected[:, axis] = 2.5 - one[:, axis]
    assert other == pytest.approx(expected, abs=1e-9)


def test_mirrored_members_are_neighbours(read_changed: Callable[..., Piece]) -> None:
    mirror = 'repeat = { pattern = "mirrored", plane = "2 m" }'
    piece = read_changed((ROW, mirror))
    assert [member.name for member in piece.members] == ["post 1", "post 2"]
    assert piece.members[1] == Member("post 2", Straight(6.5 * 0.3048, 0.0), (4.0, 0.0, 0.0), math.pi)
    assert len(piece.circuits[0].runs) == 2
