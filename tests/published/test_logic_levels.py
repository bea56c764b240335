"""The level that a pixel's data input asks for.

Source: WS2812B datasheet, electrical characteristics, in copies: input high level 0.7 VDD at least. Worked by hand from
that: 3.5 V at 5.0 V, 3.675 V at 5.25 V; 3.3 V are enough up to 4.714 V of supply, 3.135 V (3.3 V less 5 %) up to
4.479 V.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from lampwright.findings.model import Finding, Severity
from lampwright.parts import Board, find, override
from lampwright.power import RailDraw, check_protection
from tests.power.conftest import ONE_PACK, layout_of


def judge(supply: float, tolerance: str = "5 %") -> Finding:
    """Return the finding on a 3.3 V board whose first pixel's supply rises to this. [V]"""
    circuit = layout_of(60, {}, {}, {}, None, ONE_PACK).circuit
    board = override(find(Board, "m328p-8mhz-3v3-crystal"), {"supply_tolerance": tolerance})
    volts = np.array([[supply - 0.5], [supply]], dtype=np.float32)
    current = np.array([1.0])
    draw = RailDraw(volts.min(axis=1), np.zeros(2, np.int32), volts, ("lead",), current, np.zeros(1), current, 0)
    (finding,) = [
        each for each in check_protection(dataclasses.replace(circuit, board=board), draw) if each.code == "POWER-020"
    ]
    return finding


@pytest.mark.parametrize(("supply", "asked"), [(5.0, "at least 3.5 V"), (5.25, "at least 3.67 V")])
def test_seven_tenths_of_the_supply_are_asked_for(supply: float, asked: str) -> None:
    assert judge(supply).limit == asked  # three digits, half to even in binary: 3.675 V is printed as 3.67


@pytest.mark.parametrize(("tolerance", "enough"), [("0 %", 4.714), ("5 %", 4.4786)])
def test_a_3v3_board_is_enough_up_to_its_lowest_level_over_0_7(tolerance: str, enough: float) -> None:
    assert judge(enough - 0.001, tolerance).severity is Severity.PASS
    assert judge(enough + 0.001, tolerance).severity is Severity.WARN
