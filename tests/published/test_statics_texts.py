"""Catenaries against worked examples in print.

Sources
-------
A  Open engineering mechanics text, chapter "Catenaries", example 1: span 120 m, cable 140 m,
   printed sag 31.70 m.
B  Structural mechanics text, example 5.3: span 20 m, w 1.25 kN/m, H 5.6 kN, printed sag 16.63 m
   (recomputed 16.637; the text cuts), length recomputed 41.272 m.
C  Solution sheet: length 625 ft, sag 25 ft, printed span 622.33 ft.
D  Beer and Johnston, Vector Mechanics for Engineers: Statics, problems 7.127 and 7.128: length 25 ft
   and sag 10 ft, span recomputed 12.359 ft; length 500 ft and sag 125 ft, span recomputed 411.98 ft.
E  Uneven ends, recomputed from the textbook relation sqrt(S² - h²) = 2c sinh(L/2c): L 6, h 1, S 6.5
   gives c 4.66273, the level point 2.27692 from the lower end, and 1.01117 as the greatest vertical
   distance below the chord.
F  Beer and Johnston, problem 7.130: a tape of 50 m and 1.6 kg pulled with 60 N spans 49.856 m (recomputed).
G  The same book, problem 7.107, the parabola: span 60 m, sag 1.5 m, 0.6 kg/m give H 1765.8 N, T 1774.6 N and
   a length of 60.100 m (recomputed).
H  How much too little the parabola's H = w L²/8f and T = sqrt(H² + (wL/2)²) are at equal sag, by sag over span,
   recomputed from the closed forms.

"Recomputed" values come from a calculator, not from this program. Tolerances follow the last printed digit.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from lampwright.layout.catenary import (
    hang,
    hang_by_length,
    hang_by_length_and_tension,
    hang_by_sag_and_length,
    hang_by_tension,
)


@pytest.mark.parametrize(
    ("source", "width", "dip", "length", "dip_rounding"),
    [
        ("A", 120.0, 31.70, 140.0, 0.005),
        ("B", 20.0, 16.637, 41.272, 0.0005),
        ("C", 622.33, 25.0, 625.0, 0.0),
        ("D 7.127", 12.359, 10.0, 25.0, 0.0),
        ("D 7.128", 411.98, 125.0, 500.0, 0.0),
    ],
)
def test_strip_is_as_long_as_the_books_cable(
    source: str, width: float, dip: float, length: float, dip_rounding: float
) -> None:
    # Half a digit of the printed span (0.005 or 0.0005) and up to twice that of the printed sag.
    tolerance = {"B": 0.0005, "D 7.127": 0.0005}.get(source, 0.005) + 2 * dip_rounding
    assert hang(width, 0.0, dip).length == pytest.approx(length, abs=tolerance)


def test_example_b_gives_back_its_horizontal_pull() -> None:
    # H = w c, printed 5.6 kN at 1.25 kN/m.
    assert 1.25 * hang(20.0, 0.0, 16.637).parameter == pytest.approx(5.6, abs=0.0005)


def test_uneven_ends_agree_with_the_books_relation() -> None:
    c, a = 4.66273, 2.27692
    middle_dip = 0.5 - c * (math.cosh((3.0 - a) / c) - math.cosh(a / c))
    curve = hang(6.0, 1.0, middle_dip)
    assert curve.parameter == pytest.approx(c, abs=2e-5)
    assert curve.level_at == pytest.approx(a, abs=2e-5)
    assert curve.length == pytest.approx(6.5, abs=2e-5)
    x, height = curve.points(np.linspace(0.0, curve.length, 20_001))
    assert (x / 6.0 - height).max() == pytest.approx(1.01117, abs=1e-5)


@pytest.mark.parametrize(
    ("source", "width", "length", "weight", "pull", "tension"),
    [
        ("A", 120.0, 140.0, 3 * 9.81, 1808.35, 2741.2),
        ("B with 42 m", 20.0, 42.0, 1.25, 5.5251, 6.8250 + 20.0),  # printed in kN
    ],
)
def test_books_cable_pulls_as_printed(
    source: str, width: float, length: float, weight: float, pull: float, tension: float
) -> None:
    curve = hang_by_length(width, 0.0, length)
    assert weight * float(curve.parameter) == pytest.approx(pull, rel=1e-4), source
    assert float(curve.greatest_tension(weight)) == pytest.approx(tension, rel=1e-4), source


@pytest.mark.parametrize(
    ("source", "dip", "length", "weight", "width", "tension", "rounding"),
    [
        ("C", 25.0, 625.0, 2.0, 622.33, 3931.25, 0.005),  # feet and pounds
        ("D 7.127", 10.0, 25.0, 30.0 / 25.0, 12.359, 15.375, 0.0005),
        ("D 7.128", 125.0, 500.0, 2.8, 411.98, 875.0, 0.005),
    ],
)
def test_sag_and_length_give_the_books_span_and_tension(
    source: str, dip: float, length: float, weight: float, width: float, tension: float, rounding: float
) -> None:
    curve = hang_by_sag_and_length(0.0, dip, length)
    assert float(curve.width) == pytest.approx(width, abs=rounding), source
    assert float(curve.greatest_tension(weight)) == pytest.approx(tension, abs=0.0005), source


def test_example_c_leaves_its_support_at_the_printed_angle() -> None:
    curve = hang_by_sag_and_length(0.0, 25.0, 625.0)
    assert math.degrees(math.atan(float(curve.slope(625.0)))) == pytest.approx(9.15, abs=0.005)


def test_example_f_the_pulled_tape_measures_short() -> None:
    curve = hang_by_length_and_tension(0.0, 50.0, 1.6 * 9.81 / 50, 60.0)
    assert float(curve.width) == pytest.approx(49.856, abs=0.0005)
    back = hang_by_tension(float(curve.width), 0.0, 1.6 * 9.81 / 50, 60.0)
    assert float(back.length) == pytest.approx(50.0, abs=1e-6)


def test_example_g_differs_from_the_parabola_by_the_parabolas_error() -> None:
    # At sag/span 0.025 the parabola's pull lies 0.083 % too low (H, by its leading term (4/3)(f/L)²).
    curve, weight = hang(60.0, 0.0, 1.5), 0.6 * 9.81
    assert weight * float(curve.parameter) == pytest.approx(1765.8 * (1 + 4 / 3 * 0.025**2), rel=3e-5)
    assert float(curve.greatest_tension(weight)) == pytest.approx(1774.6, rel=1e-3)
    assert float(curve.length) == pytest.approx(60.100, abs=0.0005)


@pytest.mark.parametrize(
    ("share", "pull_error", "tension_error"),
    [
        (0.02, -0.053, -0.054),
        (0.05, -0.330, -0.343),
        (0.10, -1.289, -1.466),
        (0.15, -2.787, -3.515),
        (0.20, -4.706, -6.481),
        (0.25, -6.918, -10.17),
    ],
)
def test_parabola_falls_short_by_the_stated_error(share: float, pull_error: float, tension_error: float) -> None:
    curve = hang(1.0, 0.0, share)
    parabola = 1 / (8 * share)
    assert 100 * (parabola / float(curve.parameter) - 1) == pytest.approx(pull_error, abs=0.0006)
    whole = math.hypot(parabola, 0.5) / float(curve.greatest_tension(1.0))
    assert 100 * (whole - 1) == pytest.approx(tension_error, abs=0.006 if share == 0.25 else 0.0006)
