"""A rail that dips at every flash resets the board; a capacitor that trips the pack darkens everything."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.findings.model import Finding, Severity
from lampwright.parts import Capacitor, find
from lampwright.piece.model import Head
from lampwright.power import Draw, check_passives
from lampwright.power.bulk import Bulk, bulk_of, capacitance_needed, capacitors_for, inrush_of, worst_step
from lampwright.show.model import CircuitShow

BuildShow = Callable[..., CircuitShow]
Measure = Callable[..., Draw]


def with_head(show: CircuitShow, **stated: float) -> CircuitShow:
    """Return the show with what is stated of its run's head."""
    layout = show.layout
    run = dataclasses.replace(layout.circuit.runs[0], head=Head(**stated))
    placed = dataclasses.replace(layout.runs[0], run=run)
    circuit = dataclasses.replace(layout.circuit, runs=(run,))
    return dataclasses.replace(show, layout=dataclasses.replace(layout, circuit=circuit, runs=(placed,)))


def judge(show: CircuitShow, draw: Draw) -> dict[str, Finding]:
    return {finding.code: finding for finding in check_passives(show.layout, draw)}


def grey(levels: list[int], n_pixel: int) -> np.ndarray:
    return np.repeat(np.array(levels, dtype=np.uint8), n_pixel * 3).reshape(-1, n_pixel, 3)


def test_the_worst_step_is_the_largest_rise_and_no_fall(show_of: BuildShow, measure: Measure) -> None:
    draw = measure(show_of(50, frame_ms=100), grey([40, 0, 10, 25, 0], 50))
    step, when = worst_step(draw)
    assert step == pytest.approx(15 / 255 * 50 * 0.06)  # from 10 to 25 of 255, 50 pixels of 60 mA
    assert when == pytest.approx(0.3)


def test_a_show_that_never_brightens_needs_nothing(show_of: BuildShow, measure: Measure) -> None:
    show = show_of(50)
    finding = judge(show, measure(show, grey([40, 20, 10], 50)))["POWER-030"]
    assert (finding.severity, finding.limit) == (Severity.PASS, "nothing needed")


def test_what_is_chosen_bears_any_step_that_the_limiter_lets_through(show_of: BuildShow, measure: Measure) -> None:
    show = show_of(100)
    finding = judge(show, measure(show, grey([0, 255, 0, 255], 100)))["POWER-030"]
    assert finding.severity is Severity.PASS
    assert "(chosen), rated 10 V" in finding.summary


def test_a_capacitor_that_is_too_small_is_told_with_one_that_serves(show_of: BuildShow, measure: Measure) -> None:
    show = with_head(show_of(100), capacitor=100e-6)
    frames = grey([0, 255, 0, 255], 100)
    finding = judge(show, measure(show, frames))["POWER-030"]
    assert finding.severity is Severity.WARN
    assert "(chosen)" not in finding.summary
    assert finding.do == 'write capacitor = "1000 uF" for each run, or let the cue fade in'
    better = with_head(show_of(100), capacitor=1000e-6)
    assert judge(better, measure(better, frames))["POWER-030"].severity is Severity.PASS


def test_no_capacitor_is_told_as_none(show_of: BuildShow, measure: Measure) -> None:
    show = with_head(show_of(100), capacitor=0.0)
    findings = judge(show, measure(show, grey([0, 255, 0, 255], 100)))
    assert findings["POWER-030"].severity is Severity.WARN
    assert "head of each run: strip none" in findings["POWER-030"].summary
    assert findings["POWER-031"].summary == "no capacitor to fill"


def test_a_rail_of_12_v_gets_a_capacitor_for_it() -> None:
    assert {each.voltage.value for each in capacitors_for(5.0)} == {10.0}
    assert {each.voltage.value for each in capacitors_for(12.0)} == {25.0}
    assert capacitors_for(48.0) == []


def test_inrush_is_ohms_law_through_copper_contacts_and_the_capacitor(show_of: BuildShow) -> None:
    # 0.5 m of AWG 18, two contacts of 10 mohm, 0.3 m of AWG 18, 30 mohm of its own:
    # 2 x (10.475 + 10) + 2 x 6.285 + 30 = 83.52 mohm
    inrush = inrush_of(show_of(100).layout, [Bulk("strip", 1000e-6, True)])
    assert inrush is not None
    assert inrush.peak == pytest.approx(5 / 0.08352, rel=1e-3)
    assert inrush.time_constant == pytest.approx(83.52e-6, rel=1e-3)
    assert inrush.charge == pytest.approx(5e-3)
    assert inrush.time_above(inrush.peak) == 0.0
    assert inrush.time_above(inrush.peak / math.e) == pytest.approx(inrush.time_constant)


def test_a_huge_capacitor_on_a_weak_pack_is_told(show_of: BuildShow, measure: Measure) -> None:
    show = with_head(show_of(100), capacitor=10_000e-6)
    finding = judge(show, measure(show, grey([0, 20], 100)))["POWER-031"]
    assert finding.severity is Severity.NOTE
    assert finding.do.startswith("join everything first and then switch the pack on")
    small = with_head(show_of(100), capacitor=470e-6)
    assert judge(small, measure(small, grey([0, 20], 100)))["POWER-031"].severity is Severity.PASS


@given(step=st.floats(0.01, 20), hold=st.floats(1e-6, 1e-2), dip=st.floats(0.01, 2))
def test_a_capacitor_just_large_enough_dips_by_just_the_dip(step: float, hold: float, dip: float) -> None:
    assert step * hold / capacitance_needed(step, hold, dip) == pytest.approx(dip)


@pytest.mark.parametrize(("limit", "n_pixel"), [("2 A", 150), ("1.5 A", 60), ("2 A", 60), ("2.4 A", 300)])
def test_ordinary_circuits_get_500_to_1000_uf(show_of: BuildShow, limit: str, n_pixel: int) -> None:
    """Common practice, no source: a capacitor of 500 to 1000 uF at the head of a run."""
    (bulk,) = bulk_of(show_of(n_pixel, pack={"current_limit": limit}).layout)
    assert bulk.is_chosen
    assert 500e-6 <= bulk.capacitance <= 1000e-6
    assert any(each.capacitance.value == bulk.capacitance for each in capacitors_for(5.0))
    assert find(Capacitor, f"cap-{bulk.capacitance * 1e6:.0f}uf")
