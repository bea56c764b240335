"""American wire gauge.

Source: ASTM B258 (secondary): diameter d = 0.005 in × 92^((36 − n)/39); AWG 36 is 0.0050 in and AWG 4/0 is
0.4600 in by definition. Resistances at 20 °C for 100 % IACS copper (58 Sm/mm²) and areas in mm² as printed in
common tables, four significant digits; 0.1 % tolerance covers their rounding.
"""

from __future__ import annotations

import math

import pytest

from lampwright.parts import Wire, find

# AWG: (mm², ohm/km)
TABLE = {
    10: (5.261, 3.277),
    12: (3.309, 5.211),
    14: (2.081, 8.286),
    16: (1.309, 13.17),
    18: (0.8230, 20.95),
    20: (0.5176, 33.31),
    22: (0.3255, 52.96),
    24: (0.2047, 84.22),
    26: (0.1288, 133.9),
    28: (0.0810, 212.9),
    30: (0.0509, 338.6),
}

# amperes at 700 circular mils an ampere, as commonly tabulated (no source); 1 circular mil is 0.00050671 mm²
AMPACITY = {
    10: 15,
    12: 9.3,
    14: 5.9,
    16: 3.7,
    18: 2.3,
    20: 1.5,
    22: 0.92,
    24: 0.577,
    26: 0.361,
    28: 0.226,
    30: 0.142,
}


@pytest.mark.parametrize("gauge", TABLE)
def test_area_and_resistance_as_tabulated(gauge: int) -> None:
    wire = find(Wire, f"awg-{gauge}")
    area, resistance = TABLE[gauge]
    assert wire.area.value * 1e6 == pytest.approx(area, rel=1e-3)
    assert wire.resistance.value * 1e3 == pytest.approx(resistance, rel=1e-3)


@pytest.mark.parametrize("gauge", AMPACITY)
def test_ampacity_at_700_circular_mils_an_ampere(gauge: int) -> None:
    wire = find(Wire, f"awg-{gauge}")
    assert wire.ampacity.value == AMPACITY[gauge]
    circular_mils = wire.area.value * 1e6 / 0.00050671
    assert circular_mils / 700 == pytest.approx(AMPACITY[gauge], rel=0.03)  # printed with two or three digits


@pytest.mark.parametrize("gauge", TABLE)
def test_area_by_the_formula(gauge: int) -> None:
    diameter = 0.005 * 92 ** ((36 - gauge) / 39) * 0.0254
    assert find(Wire, f"awg-{gauge}").area.value == pytest.approx(math.pi * diameter**2 / 4, rel=1e-3)


def test_two_metres_there_and_back_drop_what_the_worked_example_says() -> None:
    # Worked by hand from the table: AWG 20, 3 m one way, 2 A: 2 × 3 m × 33.31 ohm/km × 2 A = 0.3997 V.
    assert 2 * 3.0 * find(Wire, "awg-20").resistance.value * 2.0 == pytest.approx(0.3997, rel=1e-3)
