"""Capacitors that charge, hold and dip.

Source: any text on circuits: C = I t / dV; v = 1 - exp(-t / RC); the rise from 10 to 90 % takes ln 9 RC, which
handbooks round to 2.2 RC. Worked by hand from those, the printed digits beside each; 100 pF a metre of lead is common
practice, 15 pF the greatest input of a WS2812B (datasheet, in copies).
"""

from __future__ import annotations

import pytest

from lampwright.parts import Strip, find
from lampwright.power.bulk import Inrush, capacitance_needed
from lampwright.power.data_line import read_length, rise_time, time_constant, time_to

INPUT = find(Strip, "ws2812b-60").input_capacitance.value


def test_a_step_of_current_is_held_up() -> None:
    assert capacitance_needed(2.0, 100e-6, 0.2) == pytest.approx(1000e-6)  # printed 1000 uF
    assert pytest.approx(0.5) == 2.0 * 250e-6 / 1000e-6  # 1000 uF at 2 A fall 0.5 V in 250 us
    assert capacitance_needed(2.0, 250e-6, 0.5) == pytest.approx(1000e-6)


def test_inrush_of_a_bare_capacitor() -> None:
    inrush = Inrush(5 / 0.1, 0.1 * 1000e-6, 5 * 1000e-6)  # 5 V through 0.1 ohm: 50 A, 100 us
    assert inrush.peak == pytest.approx(50.0)
    assert inrush.time_constant == pytest.approx(100e-6)


@pytest.mark.parametrize(
    ("resistance", "lead", "tau", "rise", "to_high"),
    # printed: ns, four digits; the rise by the rounded 2.2 RC, 0.13 % above ln 9
    [(330, 2.0, 70.95e-9, 156.1e-9, 85.4e-9), (470, 5.0, 242.1e-9, None, 291.4e-9)],
)
def test_edges_of_a_line(resistance: float, lead: float, tau: float, rise: float | None, to_high: float) -> None:
    found = time_constant(resistance, lead, INPUT)
    assert found == pytest.approx(tau, rel=3e-4)
    assert time_to(0.7, found) == pytest.approx(to_high, rel=1e-3)
    if rise is not None:
        assert rise_time(found) == pytest.approx(rise, rel=2e-3)


def test_470_ohm_and_5_m_are_too_slow_for_a_high_of_300_ns() -> None:
    """The line takes 291 ns to 0.7 of the level: of 300 ns hardly anything is left to be read."""
    assert read_length(300e-9, time_constant(470, 5.0, INPUT), 0.7) < 20e-9
