"""Arcs, chords, rises and bends.

Machinery's Handbook, table "Segments of circles for radius = 1": centre angle, length of arc, height of segment, length
of chord, to three or four places; from memory, and recomputed with a calculator.
Tube benders' rule, printed on bending tools and in electricians' handbooks: a 90° bend of radius R takes a gain of
2 R - pi R / 2, "0.4292 R", off the sum of the two legs; from memory.
SciPy, ``scipy.integrate.quad``: general-purpose reference for the length of a curve.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from lampwright.layout.member import shape_points
from lampwright.piece.model import Arc, Bent
from lampwright.piece.path import path_length

SEGMENTS = [
    # angle [deg], arc, height, chord, each for radius 1
    (30, 0.5236, 0.0341, 0.5176),
    (60, 1.0472, 0.1340, 1.0000),
    (90, 1.5708, 0.2929, 1.4142),
    (120, 2.0944, 0.5000, 1.7321),
    (150, 2.6180, 0.7412, 1.9319),
    (180, 3.1416, 1.0000, 2.0000),
]


@pytest.mark.parametrize(("angle", "arc", "height", "chord"), SEGMENTS)
def test_arc_of_chord_and_rise_is_the_tables(angle: float, arc: float, height: float, chord: float) -> None:
    shape = Arc(chord, height, 0.0)
    # The table's height is rounded to 5e-5, which moves the flattest radius by that share of it.
    assert shape.radius == pytest.approx(1.0, abs=5e-5 / height + 1e-4)
    assert path_length(shape) == pytest.approx(arc, rel=1e-3)
    assert math.degrees(shape.sweep) == pytest.approx(angle, rel=2e-3)


@pytest.mark.parametrize("radius", [0.1, 0.15, 0.4])
def test_right_angle_saves_what_the_benders_rule_says(radius: float) -> None:
    crook = Bent(((0.0, 0.0, 0.0), (0.0, 0.0, 2.0), (1.0, 0.0, 2.0)), (radius,))
    assert 3.0 - path_length(crook) == pytest.approx(0.4292 * radius, abs=5e-5 * radius)


def test_bent_line_in_space_is_as_long_as_its_integral() -> None:
    shape = Bent(((0.0, 0.0, 0.0), (1.0, 0.2, 0.0), (1.1, 1.5, 0.7), (0.0, 2.0, 2.0)), (0.3, 0.4))

    def speed(distance: float) -> float:
        around = shape_points(shape, np.array([distance - 1e-6, distance + 1e-6]))
        return float(np.linalg.norm(around[1] - around[0])) / 2e-6

    breaks = [float(start) for start in shape.line.starts[1:]]
    whole, _ = quad(speed, 0.0, path_length(shape), points=breaks, limit=200)
    assert whole == pytest.approx(path_length(shape), rel=1e-5)
    assert math.dist(shape.points[-1], tuple(shape_points(shape, np.array([whole]))[0])) < 1e-4
