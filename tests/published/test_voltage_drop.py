"""Voltage drop of leads and of strip, worked by hand.

Sources
-------
A  Ohm's law, twice the length one way, wire tables at 20 °C (ASTM B258 sizes of 100 % IACS copper; IEC 60228 class 5):
   AWG 20, 3 m, 2 A lose 0.3997 V; AWG 18, 2.5 m, 3 A 0.3142 V; 0.75 mm2, 2.5 m, 2 A 0.2600 V.
B  Any text on feeders: an even load of constant current loses I R / 2 fed at one end, I R / 8 in the middle fed at
   both. 150 pixels of 10 mA over 5 m of 0.2 ohm/m for both rails: 0.7500 V, as a ladder of single pixels
   R i n (n + 1) / 2 = 0.7550 V; at both ends 0.1875 V.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from lampwright.parts import Wire, find
from lampwright.power.network import Network, RailWire, Source
from lampwright.power.solve import Rails
from tests.power.rail_networks import MODEL, line_network

DARK_AT_10_MA = dataclasses.replace(MODEL, quiescent=0.010, floor=-100.0, start=(-3.0,) * 3, knee=(-2.0,) * 3)
"""A pixel that always draws 10 mA, whatever it gets."""


@pytest.mark.parametrize(
    ("wire", "length", "current", "drop"),
    [("awg-20", 3.0, 2.0, 0.3997), ("awg-18", 2.5, 3.0, 0.3142), ("mm2-0.75", 2.5, 2.0, 0.2600)],
)
def test_a_lead_loses_what_the_wire_table_says(wire: str, length: float, current: float, drop: float) -> None:
    resistance = find(Wire, wire).resistance.value * length
    lead = RailWire("lead", 0, 1, resistance, resistance)
    network = Network(Source(5.0, 1e-5, 10.0), 2, (lead,), (), MODEL, ((1, current),))
    frame = Rails(network).frame(np.zeros((0, 3), np.uint8))
    lost = (frame.plus[0] - frame.plus[1]) + (frame.ground[1] - frame.ground[0])
    assert lost == pytest.approx(drop, rel=1e-3)
    assert frame.wire_heat[0] == pytest.approx(drop * current, rel=1e-3)


@pytest.mark.parametrize(("both_ends", "drop"), [(False, 0.7550), (True, 0.1875)])
def test_an_evenly_loaded_strip_sags_as_by_hand(both_ends: bool, drop: float) -> None:
    network = line_network(150, 0.2 * 5 / 150, model=DARK_AT_10_MA, both_ends=both_ends)
    frame = Rails(network).frame(np.zeros((150, 3), np.uint8))
    assert 5.0 - frame.pixel_voltage.min() == pytest.approx(drop, abs=2e-3 if both_ends else 1e-3)
    assert frame.pack_current == pytest.approx(1.5, rel=1e-9)
