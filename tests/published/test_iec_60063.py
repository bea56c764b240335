"""IEC 60063, preferred number series for resistors and capacitors: E6, E12 and E24 within one decade (from memory)."""

from __future__ import annotations

import pytest

from lampwright.parts import load_catalogue, nearest_preferred, next_preferred, previous_preferred

E24 = "10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91"
E12 = "10 12 15 18 22 27 33 39 47 56 68 82"
E6 = "10 15 22 33 47 68"


@pytest.mark.parametrize(("series", "listed"), [("E24", E24), ("E12", E12), ("E6", E6)])
def test_each_value_of_the_standard_is_its_own_nearest(series: str, listed: str) -> None:
    values = [float(each) for each in listed.split()]
    for scale in (1e-12, 1e-6, 1e-3, 1.0, 1e3):
        for value, after in zip(values, [*values[1:], 100.0], strict=True):
            for choose in (nearest_preferred, next_preferred, previous_preferred):
                assert choose(value * scale, series) == pytest.approx(value * scale, rel=1e-12)
            between = (value * after) ** 0.5 * scale
            assert next_preferred(between, series) == pytest.approx(after * scale, rel=1e-12)
            assert previous_preferred(between, series) == pytest.approx(value * scale, rel=1e-12)


def test_the_standard_differs_from_rounded_powers_of_ten() -> None:
    """E24 holds 27, 30, 33, 36, 39, 43, 47 and 82, where rounding gives 26, 29, 32, 35, 38, 42, 46 and 83."""
    listed = [int(each) for each in E24.split()]
    rounded = [round(10 ** (1 + n / 24)) for n in range(24)]
    assert [one for one, other in zip(listed, rounded, strict=True) if one != other] == [27, 30, 33, 36, 39, 43, 47, 82]


def test_all_values_of_the_catalogue_are_preferred_ones() -> None:
    for resistor in load_catalogue().resistors.values():
        assert nearest_preferred(resistor.resistance.value, "E12") == pytest.approx(resistor.resistance.value)
    for capacitor in load_catalogue().capacitors.values():
        assert nearest_preferred(capacitor.capacitance.value, "E6") == pytest.approx(capacitor.capacitance.value)
