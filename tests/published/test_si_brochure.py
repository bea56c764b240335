"""Dimensions of derived units.

BIPM, The International System of Units, 9th edition (2019), table 4, "The 22 SI units with special names and symbols",
column "unit expressed in terms of base units", and table 5; from memory.
"""

from __future__ import annotations

import pytest

from lampwright.formula import work_out

IN_BASE_UNITS = {
    # unit of table 4: its powers of m, kg, s, A
    "1 N": (1, 1, -2, 0),
    "1 Pa": (-1, 1, -2, 0),
    "1 J": (2, 1, -2, 0),
    "1 W": (2, 1, -3, 0),
    "1 V": (2, 1, -3, -1),
    "1 F": (-2, -1, 4, 2),
    "1 ohm": (2, 1, -3, -2),
    "1 Hz": (0, 0, -1, 0),
    # table 5
    "1 m/s": (1, 0, -1, 0),
    "1 m2": (2, 0, 0, 0),
}


@pytest.mark.parametrize("unit", IN_BASE_UNITS)
def test_units_are_made_of_the_base_units_of_the_table(unit: str) -> None:
    worked = work_out(f"= {unit}", {}.__getitem__, ())
    assert worked.dimension[:4] == IN_BASE_UNITS[unit]
    assert worked.value == 1.0


@pytest.mark.parametrize(
    ("formula", "same"),
    [
        ("= 1 V / (1 A)", "= 1 ohm"),
        ("= 1 W / (1 A)", "= 1 V"),
        ("= 1 J / (1 s)", "= 1 W"),
        ("= 1 N / (1 m * 1 m)", "= 1 Pa"),
        ("= 1 A * 1 s / (1 V)", "= 1 F"),
        ("= 1 N * 1 m", "= 1 J"),
    ],
)
def test_derived_units_come_out_of_each_other(formula: str, same: str) -> None:
    assert work_out(formula, {}.__getitem__, ()) == work_out(same, {}.__getitem__, ())
