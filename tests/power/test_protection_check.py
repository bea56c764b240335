"""A show that fails on the fuse or on the data level fails as a whole."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import numpy as np
import pytest

from lampwright.findings.model import Finding, Severity
from lampwright.parts import Board, find
from lampwright.power import RailDraw, check_protection, smallest_fuse
from lampwright.show.model import CircuitShow

BuildShow = Callable[..., CircuitShow]


def judge(show: CircuitShow, current: float, first: float = 5.0, board: str | None = None) -> dict[str, Finding]:
    circuit = show.layout.circuit
    if board:
        circuit = dataclasses.replace(circuit, board=find(Board, board))
    flows = np.array([current])
    volts = np.array([[first - 1], [first]], np.float32)
    low = np.full(2, first - 1, np.float32)
    draw = RailDraw(low, np.zeros(2, np.int32), volts, ("lead",), flows, flows, 0)
    return {finding.code: finding for finding in check_protection(circuit, draw)}


def rating(continuous: float, peak: float) -> float:
    fuse = smallest_fuse(continuous, peak)
    assert fuse is not None
    return fuse.rating.value


def test_the_worked_example_of_a_fuse_guide() -> None:
    """7.5 A continuous ask a 10 A fuse: general fuse guide's worked example, 75 % of the rating at 25 °C."""
    assert rating(7.5, 7.5) == 10
    assert rating(7.51, 7.51) == 15


def test_a_short_peak_does_not_blow_the_fuse() -> None:
    assert rating(0.5, 2.5) == 3
    assert smallest_fuse(1, 31) is None


def test_a_fuse_beyond_its_wire_is_told(show_of: BuildShow) -> None:
    show = show_of(60, pack={"current_limit": "9 A"})
    ampacity = show.layout.circuit.wiring.lead.wire.ampacity.value
    assert judge(show, 0.7)["POWER-021"].severity is Severity.PASS
    finding = judge(show, 0.9 * ampacity)["POWER-021"]
    assert finding.severity is Severity.WARN
    assert "take a wire for the lead" in finding.do
    weak = show_of(60, pack={"current_limit": "0.9 A"})
    finding = judge(weak, 0.9 * ampacity)["POWER-021"]
    assert finding.severity is Severity.NOTE
    assert "an overload switches the pack off, no fuse blows" in finding.summary


def test_no_fuse_for_more_than_the_largest(show_of: BuildShow) -> None:
    assert judge(show_of(60), 25)["POWER-021"].severity is Severity.FAIL


@pytest.mark.parametrize(("first", "severity"), [(5.0, Severity.WARN), (4.72, Severity.WARN), (4.71, Severity.PASS)])
def test_a_3v3_board_is_enough_up_to_its_level_over_0_7(show_of: BuildShow, first: float, severity: Severity) -> None:
    """3.3 V / 0.7 = 4.714 V, by the WS2812B datasheet's input high level, 0.7 VDD."""
    assert judge(show_of(60), 1, first, "m328p-8mhz-3v3-crystal")["POWER-020"].severity is severity


def test_a_5_v_board_is_enough(show_of: BuildShow) -> None:
    assert judge(show_of(60), 1)["POWER-020"].severity is Severity.PASS
