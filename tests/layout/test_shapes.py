"""A member that is not where the layout says it is carries pixels that are not where the looks think."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.findings.model import Severity
from lampwright.layout import check_layout, lay_out
from lampwright.layout.member import (
    anchor_place,
    directions_along,
    feet_of,
    points_along,
    shape_points,
    sides_along,
    top_of,
)
from lampwright.piece import piece_from_text
from lampwright.piece.model import Anchor, Arc, Bent, FixedSection, Hoop, Member, Piece, Shape, Staff, Straight
from lampwright.piece.path import path_length
from lampwright.piece.rounded import BendError
from tests.layout.conftest import circuit, piece

ORIGIN = (0.0, 0.0, 0.0)
COORDINATES = st.integers(-300, 300).map(lambda n: n / 100)


@st.composite
def bent_shapes(draw: st.DrawFn) -> Bent:
    """A line through up to six points with as much bend as there is room for, or less."""
    points = draw(st.lists(st.tuples(COORDINATES, COORDINATES, COORDINATES), min_size=2, max_size=6, unique=True))
    radii = tuple(draw(st.integers(0, 40)) / 100 for _ in points[2:])
    shape = Bent(tuple(points), radii)
    for _ in range(8):
        try:
            assert shape.line.length > 0
        except BendError:
            shape = replace(shape, radii=tuple(radius / 4 for radius in shape.radii))
        else:
            return shape
    return Bent((points[0], points[1]), ())


ARCS = st.builds(
    Arc, st.integers(0, 600).map(lambda n: n / 100), st.integers(5, 400).map(lambda n: n / 100), st.floats(-1.5, 1.5)
)
HOOPS = st.tuples(st.floats(0.2, 4.0), st.floats(0.0, 2.0)).map(lambda wide_leg: Hoop(wide_leg[0], sum(wide_leg)))
SHAPES = st.one_of(bent_shapes(), ARCS, HOOPS, st.builds(Straight, st.floats(0.1, 9.0), st.floats(-2.0, 2.0)))


@given(SHAPES, st.floats(-6.3, 6.3))
@settings(max_examples=150, deadline=None)
def test_a_step_along_the_path_is_as_long_in_space(shape: Shape, turn: float) -> None:
    member = Member("m", shape, (1.0, -2.0, 0.5), turn)
    distance = np.linspace(0.0, path_length(shape), 4001)
    steps = np.linalg.norm(np.diff(points_along(member, distance), axis=0), axis=1)
    step = distance[1]
    assert np.all(steps <= step * (1 + 1e-6) + 1e-12)
    assert steps.sum() == pytest.approx(path_length(shape), rel=2e-3)


@given(SHAPES, st.floats(-6.3, 6.3))
@settings(max_examples=100, deadline=None)
def test_sides_are_square_to_the_path(shape: Shape, turn: float) -> None:
    member = Member("m", shape, ORIGIN, turn)
    distance = np.linspace(0.0, path_length(shape), 41)
    toward, side = directions_along(member, distance), sides_along(member, distance)
    assert np.linalg.norm(side, axis=1) == pytest.approx(1.0)
    assert (toward * side).sum(axis=1) == pytest.approx(0.0, abs=1e-6)


@given(bent_shapes())
@settings(max_examples=100, deadline=None)
def test_bent_tube_begins_and_ends_at_its_points_and_cuts_its_corners(shape: Bent) -> None:
    ends = shape_points(shape, np.array([0.0, path_length(shape)]))
    assert ends == pytest.approx(np.array([shape.points[0], shape.points[-1]]), abs=1e-9)
    straight = sum(math.dist(one, other) for one, other in zip(shape.points, shape.points[1:], strict=False))
    assert path_length(shape) <= straight + 1e-9


def test_arc_rises_to_its_crown_and_leans_as_a_whole() -> None:
    upright = Member("arc", Arc(3.0, 1.0, 0.0), ORIGIN, 0.0)
    assert anchor_place(Anchor(upright, "left foot")) == pytest.approx([-1.5, 0.0, 0.0])
    assert anchor_place(Anchor(upright, "crown")) == pytest.approx([0.0, 0.0, 1.0])
    assert anchor_place(Anchor(upright, "right foot")) == pytest.approx([1.5, 0.0, 0.0])
    leaning = Member("arc", Arc(3.0, 1.0, math.radians(30)), ORIGIN, 0.0)
    assert anchor_place(Anchor(leaning, "crown")) == pytest.approx([0.0, 0.5, math.cos(math.radians(30))])
    assert anchor_place(Anchor(leaning, "right foot")) == pytest.approx([1.5, 0.0, 0.0])


def test_half_circle_is_the_hoop_without_legs() -> None:
    distance = np.linspace(0.0, math.pi, 50)
    assert shape_points(Arc(2.0, 1.0, 0.0), distance) == pytest.approx(shape_points(Hoop(2.0, 1.0), distance))


def test_whole_circle_lies_flat_where_it_leans_all_the_way() -> None:
    halo = Arc(0.0, 1.2, math.pi / 2)
    places = shape_points(halo, np.linspace(0.0, path_length(halo), 9))
    assert path_length(halo) == pytest.approx(math.tau * 0.6)
    assert places[:, 2] == pytest.approx(0.0, abs=1e-12)
    assert np.hypot(places[:, 0], places[:, 1] - 0.6) == pytest.approx(0.6)


def gate(bend: float = 0.2) -> Bent:
    """A square gate 1.6 m wide and 2.4 m high."""
    return Bent(((-0.8, 0.0, 0.0), (-0.8, 0.0, 2.4), (0.8, 0.0, 2.4), (0.8, 0.0, 0.0)), (bend, bend))


def test_gate_stands_on_both_its_feet_and_a_crook_on_one() -> None:
    crook = Bent(((0.0, 0.0, 0.0), (0.0, 0.0, 2.0), (0.6, 0.0, 2.0)), (0.15,))
    assert (len(feet_of(gate())), len(feet_of(crook))) == (2, 1)
    assert (top_of(gate()), top_of(crook)) == (pytest.approx(2.4), pytest.approx(2.0))
    member = Member("crook", crook, (1.0, 0.0, 0.0), math.pi / 2)
    assert anchor_place(Anchor(member, "end")) == pytest.approx([1.0, 0.6, 2.0])
    # The middle of the bend lies r (sqrt 2 - 1) short of the corner, towards its centre.
    aside = 0.15 * (1 - math.sqrt(0.5))
    assert anchor_place(Anchor(member, "corner 1")) == pytest.approx([1.0, aside, 2.0 - aside])


def test_staff_is_where_its_hand_holds_it() -> None:
    member = Member("staff", Staff(2.0, 0.0, 0.7), (0.0, 0.0, 0.3), 0.0)
    assert anchor_place(Anchor(member, "hand")) == pytest.approx([0.0, 0.0, 1.0])
    assert anchor_place(Anchor(member, "top")) == pytest.approx([0.0, 0.0, 2.3])


@pytest.mark.parametrize(
    ("points", "radii", "corner"),
    [
        (((0.0, 0.0, 0.0), (0.0, 0.0, 0.0)), (), 0),
        (((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 0.0)), (0.0,), 1),
        (((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (1.0, 1.0, 0.0)), (1.01,), 1),
        (((0.0, 0.0, 0.0), (9.0, 0.0, 0.0), (9.0, 1.0, 0.0), (0.0, 1.0, 0.0)), (0.4, 0.7), 2),
    ],
)
def test_tube_that_can_not_be_bent_so_is_refused(
    points: tuple[tuple[float, float, float], ...], radii: tuple[float, ...], corner: int
) -> None:
    with pytest.raises(BendError) as caught:
        assert Bent(points, radii).line
    assert caught.value.corner == corner


def laid(section: FixedSection) -> Piece:
    return piece(circuit(section))


@pytest.mark.parametrize(
    ("bend", "bare", "severity", "value"),
    [
        (0.2, 0.0, Severity.PASS, "20 cm"),
        (0.03, 0.0, Severity.WARN, "3 cm"),
        (0.0, 0.0, Severity.WARN, "0 m"),
    ],
)
def test_corner_that_is_too_tight_for_the_strip_is_warned_of(
    bend: float, bare: float, severity: Severity, value: str
) -> None:
    section = FixedSection("gate", Member("gate", gate(bend), ORIGIN, 0.0), bare, bare)
    (finding,) = check_layout(lay_out(laid(section)))
    assert (finding.code, finding.severity, finding.value) == ("LAYOUT-006", severity, value)


def test_corner_that_is_left_bare_is_not_looked_at() -> None:
    member = Member("gate", gate(0.03), ORIGIN, 0.0)
    assert check_layout(lay_out(laid(FixedSection("gate", member, 2.5, 2.5)))) == ()
    assert len(check_layout(lay_out(laid(FixedSection("gate", member, 2.5, 0.0))))) == 1


def test_strip_wound_around_bent_tube_keeps_its_distance_from_the_axis() -> None:
    text = (Path(__file__).parents[2] / "examples" / "helm-mast" / "helm-mast.toml").read_text(encoding="utf-8")
    bent = text.replace(
        'shape = "straight"\nlength = "12 ft"',
        'shape = "bent"\nbend = "50 cm"\n'
        'points = [["0 m", "0 m", "0 m"], ["0 m", "0 m", "3 m"], ["0 m", "2 m", "3 m"]]',
    ).replace('"mast top"', '"mast end"')
    layout = lay_out(piece_from_text(bent, Path("mast.toml"))).circuits[0]
    member = next(member for member in layout.circuit.runs[0].sections if isinstance(member, FixedSection)).member
    axis = points_along(member, np.linspace(0.0, path_length(member.shape), 20001))
    nearest = np.array([np.linalg.norm(axis - pixel, axis=1).min() for pixel in layout.xyz])
    assert nearest == pytest.approx(0.0275, abs=1e-4)
