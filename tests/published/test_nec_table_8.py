"""Resistance and voltage drop of American wire gauges at 75 °C.

Sources
-------
A  NEC 2011, chapter 9 table 8, stranded uncoated copper at 75 °C, ohm per 1000 ft, in a copy: AWG 18 7.95, 16 4.99,
   14 3.14, 12 1.98, 10 1.24. Our wire is the solid copper of ASTM B258; stranding adds 2 to 4 % (from memory).
B  The trade's 2 K I L / CM with K = 12.9 ohm circular mil a foot (copper at 75 °C): AWG 12 (6530 circular mils), 16 A,
   100 ft lose 6.32 V; by table A 6.34 V. Both by hand, three digits.
"""

from __future__ import annotations

import numpy as np
import pytest

from lampwright.parts import Wire, find
from lampwright.power.network import Network, RailWire, Source, copper_factor
from lampwright.power.solve import Rails
from tests.power.rail_networks import MODEL

TABLE_8 = {18: 7.95, 16: 4.99, 14: 3.14, 12: 1.98, 10: 1.24}
FOOT = 0.3048
STRANDING = (1.015, 1.045)
"""Least and most that a stranded wire has more than a solid one, with the table's rounding."""


def resistance(gauge: int) -> float:
    """Return the resistance of a wire at 75 °C. [ohm/m]"""
    return find(Wire, f"awg-{gauge}").resistance.value * copper_factor(348.15)


@pytest.mark.parametrize("gauge", TABLE_8)
def test_solid_copper_has_a_little_less_than_the_stranded_of_the_table(gauge: int) -> None:
    printed = TABLE_8[gauge] / (1000 * FOOT)
    least, most = STRANDING
    assert least <= printed / resistance(gauge) <= most


def test_the_worked_drop_of_100_feet() -> None:
    ohms = resistance(12) * 100 * FOOT
    network = Network(Source(120.0, 1e-5, 100.0), 2, (RailWire("lead", 0, 1, ohms, ohms),), (), MODEL, ((1, 16.0),))
    frame = Rails(network).frame(np.zeros((0, 3), np.uint8))
    lost = float((frame.plus[0] - frame.plus[1]) + (frame.ground[1] - frame.ground[0]))
    by_rule, by_table = 2 * 12.9 * 16 * 100 / 6530, 2 * TABLE_8[12] / 1000 * 100 * 16
    assert by_rule == pytest.approx(6.32, abs=5e-3)
    assert by_table == pytest.approx(6.34, abs=5e-3)
    for printed in (by_rule, by_table):
        assert STRANDING[0] <= printed / lost <= STRANDING[1]


def test_the_rules_k_is_the_resistivity_that_we_take() -> None:
    """12.9 ohm circular mil a foot against 1/58 ohm mm2/m at 75 °C; 1 circular mil is 0.00050671 mm2."""
    solid = copper_factor(348.15) / 58 / 0.00050671 * FOOT
    assert STRANDING[0] <= 12.9 / solid <= STRANDING[1]
