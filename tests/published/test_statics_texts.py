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

"Recomputed" values come from a calculator, not from this program. Tolerances follow the last printed digit.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from lampwright.layout.catenary import hang


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
