"""Edges that come late make wrong colours, and only on the night when it is cold."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.findings.model import Finding, Severity
from lampwright.parts import Board, Pack, Strip, find, load_catalogue
from lampwright.piece.model import Head
from lampwright.power import Draw, check_passives
from lampwright.power.data_line import (
    THRESHOLDS,
    choose_resistor,
    longest_lead,
    most_time_constant,
    read_length,
    resistor_range,
    share_of_windows,
    time_constant,
)
from lampwright.show.model import CircuitShow

BuildShow = Callable[..., CircuitShow]
BOARD, PACK, STRIP = find(Board, "m328p-16mhz-crystal"), find(Pack, "pack-10ah-2a"), find(Strip, "ws2812b-60")


def judge(show: CircuitShow, **stated: float) -> Finding:
    layout = show.layout
    run = dataclasses.replace(layout.circuit.runs[0], head=Head(**stated))
    placed = dataclasses.replace(layout.runs[0], run=run)
    layout = dataclasses.replace(layout, circuit=dataclasses.replace(layout.circuit, runs=(run,)), runs=(placed,))
    none = np.zeros(2)
    draw = Draw(0.025, 0, 2, show.ending, 0.0, none, none)
    return next(each for each in check_passives(layout, draw) if each.code == "POWER-032")


@given(sent=st.floats(50e-9, 2e-6), tau=st.floats(1e-9, 1e-6), threshold=st.sampled_from(THRESHOLDS))
def test_a_pulse_is_as_long_as_stepping_through_time_shows(sent: float, tau: float, threshold: float) -> None:
    times = np.linspace(0, sent + 12 * tau, 40_001)
    rising, falling = 1 - np.exp(-times / tau), np.exp(-np.maximum(0.0, times - sent) / tau)
    level = np.where(times < sent, rising, (1 - np.exp(-sent / tau)) * falling)
    counted = float((level > threshold).sum()) * (times[1] - times[0])
    assert read_length(sent, tau, threshold) == pytest.approx(counted, abs=4 * (times[1] - times[0]))


def test_a_line_without_resistance_changes_nothing() -> None:
    assert read_length(400e-9, 0.0, 0.7) == 400e-9
    assert share_of_windows(STRIP.timing, 0.0) == 0.0


def test_a_pulse_shorter_than_the_edge_is_not_seen() -> None:
    assert read_length(100e-9, 242e-9, 0.7) == 0.0


@pytest.mark.parametrize("share", [0.1, 0.5, 1.0])
@pytest.mark.parametrize("strip", load_catalogue().strips.values(), ids=lambda strip: strip.name)
def test_the_largest_time_constant_just_keeps_every_window(strip: Strip, share: float) -> None:
    tau = most_time_constant(strip.timing, share)
    assert share_of_windows(strip.timing, tau) <= share
    assert share_of_windows(strip.timing, tau * 1.001) > share


@given(lead=st.floats(0.0, 2.5))
def test_what_is_chosen_lies_in_its_range(lead: float) -> None:
    fits = resistor_range(BOARD, PACK, STRIP, lead)
    found = choose_resistor(fits)
    assert found is not None
    assert fits.least <= found.resistance.value <= fits.most
    tau = time_constant(found.resistance.value + BOARD.drive_resistance.value, lead, STRIP.input_capacitance.value)
    assert share_of_windows(STRIP.timing, tau) <= 0.5 + 1e-9


def test_the_longest_lead_is_just_short_enough() -> None:
    longest = longest_lead(BOARD, STRIP, 330)
    for lead, fits in ((longest * 0.999, True), (longest * 1.001, False)):
        assert (resistor_range(BOARD, PACK, STRIP, lead).most >= 330) is fits


@pytest.mark.parametrize("lead", [0.05, 0.3, 1.0, 2.0])
@pytest.mark.parametrize("board", ["m328p-16mhz-crystal", "m2560-16mhz-resonator", "m32u4-16mhz-crystal"])
def test_ordinary_leads_get_300_to_500_ohm(board: str, lead: float) -> None:
    """Common practice, no source: 300 to 500 ohm in the data line of a 5 V board."""
    found = choose_resistor(resistor_range(find(Board, board), PACK, STRIP, lead))
    assert found is not None
    assert 300 <= found.resistance.value <= 500


def test_nothing_stated_is_chosen_and_told(show_of: BuildShow) -> None:
    finding = judge(show_of(60))
    assert finding.severity is Severity.PASS
    assert "strip 330 ohm (chosen) and 30 cm of lead" in finding.summary


@pytest.mark.parametrize(
    ("stated", "severity", "reason"),
    [
        ({"data_resistor": 330.0}, Severity.PASS, ""),
        ({"data_resistor": 0.0}, Severity.NOTE, "the lead rings"),
        ({"data_resistor": 150.0}, Severity.NOTE, "too much of the pin"),
        ({"data_resistor": 470.0, "data_lead": 5.0}, Severity.WARN, "bring the board within"),
        ({"data_resistor": 4700.0, "data_lead": 1.0}, Severity.WARN, '"330 ohm" for strip, smaller: edges come late'),
        ({"data_lead": 40.0}, Severity.WARN, "bring the board within"),
    ],
)
def test_what_is_stated_is_held_against_the_lead(
    show_of: BuildShow, stated: dict[str, float], severity: Severity, reason: str
) -> None:
    finding = judge(show_of(60), **stated)
    assert finding.severity is severity
    assert reason in finding.do
    assert (finding.do == "") == (severity is Severity.PASS)
