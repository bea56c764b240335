"""Preferred values and sizes.

Sources: IEC 60063, E6 series 10 15 22 33 47 68 (from memory). ISO 8820-3, rated currents of blade fuses
(from excerpts): 1 2 3 4 5 7.5 10 15 20 25 30 A.
"""

from __future__ import annotations

import math

from lampwright.parts import load_catalogue

E6 = {10, 15, 22, 33, 47, 68}
BLADE_RATINGS = {1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0}


def test_capacitors_come_in_values_that_are_made() -> None:
    for capacitor in load_catalogue().capacitors.values():
        microfarad = capacitor.capacitance.value * 1e6
        leading = microfarad / 10 ** (math.floor(math.log10(microfarad) + 1e-9) - 1)
        assert round(leading, 6) in E6, capacitor.name


def test_fuses_come_in_the_sizes_of_the_standard() -> None:
    assert {fuse.rating.value for fuse in load_catalogue().fuses.values()} == BLADE_RATINGS
