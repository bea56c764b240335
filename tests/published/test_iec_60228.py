"""Flexible copper conductors by cross-section.

Source: IEC 60228, class 5, plain annealed copper, greatest resistance at 20 °C [ohm/km], from two published
tables that agree. The printed values are exact limits.
"""

from __future__ import annotations

import pytest

from lampwright.parts import Wire, find, load_catalogue

CLASS_5_PLAIN = {"0.5": 39.0, "0.75": 26.0, "1": 19.5, "1.5": 13.3, "2.5": 7.98}


@pytest.mark.parametrize("area", CLASS_5_PLAIN)
def test_resistance_is_the_limit_of_the_standard(area: str) -> None:
    wire = find(Wire, f"mm2-{area}")
    assert wire.area.value == pytest.approx(float(area) * 1e-6, rel=1e-12)
    assert wire.resistance.value * 1e3 == pytest.approx(CLASS_5_PLAIN[area], rel=1e-12)


def test_no_size_is_offered_that_the_standard_was_not_checked_for() -> None:
    offered = {name.removeprefix("mm2-") for name in load_catalogue().wires if name.startswith("mm2-")}
    assert offered == set(CLASS_5_PLAIN)
