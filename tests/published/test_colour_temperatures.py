"""Colour temperatures against chromaticities of the CIE.

* CIE standard illuminant A, a black body of 2856 K: x 0.44758, y 0.40745 (ISO/CIE 11664-2, from memory).
* Black body of 6500 K: x 0.3135, y 0.3237; of 2000 K: x 0.5267, y 0.4133; of 10,000 K: x 0.2807, y 0.2884
  (tables of the Planckian locus, from memory; four figures as printed).
"""

from __future__ import annotations

import pytest

from lampwright.look.colour import kelvin_to_linear, planckian_chromaticity


@pytest.mark.parametrize(
    ("temperature", "x", "y"),
    [(2856, 0.44758, 0.40745), (6500, 0.3135, 0.3237), (2000, 0.5267, 0.4133), (10_000, 0.2807, 0.2884)],
)
def test_a_temperature_has_the_black_bodys_chromaticity(temperature: float, x: float, y: float) -> None:
    assert planckian_chromaticity(temperature) == (pytest.approx(x, abs=1e-3), pytest.approx(y, abs=1e-3))


def test_warm_light_is_red_and_cold_light_is_blue() -> None:
    warm, day, cold = (kelvin_to_linear(t) for t in (2000, 6500, 15_000))
    assert warm[0] == 1.0
    assert warm[0] > warm[1] > warm[2]
    assert min(day) > 0.93
    assert cold[2] == 1.0
    assert cold[2] > cold[1] > cold[0]
