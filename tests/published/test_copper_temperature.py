"""How copper's resistance grows with its temperature.

Sources
-------
A  IEC 60028, annealed copper: 0.00393 a kelvin at 20 °C (from memory). By hand: 0.9214, 1.1179 and 1.2162 at 0, 50 and
   75 °C, four places.
B  NEC chapter 9 table 8, note: R2 = R1 (1 + 0.00323 (T2 - 75 °C)) for copper (from memory), an own coefficient for the
   same line, rounded to three digits.
"""

from __future__ import annotations

import pytest

from lampwright.power.network import copper_factor


def factor(celsius: float) -> float:
    return copper_factor(273.15 + celsius)


@pytest.mark.parametrize(("celsius", "printed"), [(0, 0.9214), (20, 1.0), (50, 1.1179), (75, 1.2162)])
def test_factor_against_20_degrees(celsius: float, printed: float) -> None:
    assert factor(celsius) == pytest.approx(printed, abs=5e-5)


@pytest.mark.parametrize("celsius", [-20, 0, 20, 50, 90])
def test_the_same_line_seen_from_75_degrees(celsius: float) -> None:
    assert factor(celsius) / factor(75) == pytest.approx(1 + 0.00323 * (celsius - 75), abs=5e-4)
