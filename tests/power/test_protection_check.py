"""A show that fails on the fuse or on the data level fails as a whole."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import numpy as np

from lampwright.findings.model import Finding, Severity
from lampwright.parts import Board, Wire, find
from lampwright.power import RailDraw, check_protection, circuit_fuse, smallest_fuse
from lampwright.show.model import CircuitShow

BuildShow = Callable[..., CircuitShow]


def judge(show: CircuitShow, current: float, first: float = 5.0, board: str | None = None) -> dict[str, Finding]:
    circuit = show.layout.circuit
    if board:
        circuit = dataclasses.replace(circuit, board=find(Board, board))
    draw = draw_of(np.array([[first - 1], [first]]), current)
    return {finding.code: finding for finding in check_protection(circuit, draw)}


def draw_of(first_pixel: np.ndarray, current: float) -> RailDraw:
    """Return rails that carry one current, with these supplies (n_frame, n_run) of the runs' first pixels."""
    flows, n_frame = np.array([current]), len(first_pixel)
    volts = first_pixel.astype(np.float32)
    zero = np.zeros_like(flows)
    return RailDraw(volts.min(axis=1), np.zeros(n_frame, np.int32), volts, ("lead",), flows, zero, flows, 0)


def rating(continuous: float, peak: float) -> float:
    fuse = smallest_fuse(continuous, peak)
    assert fuse is not None
    return fuse.rating.value


def test_a_short_peak_does_not_blow_the_fuse() -> None:
    assert rating(0.5, 2.5) == 3
    assert smallest_fuse(1, 31) is None


def test_the_fuse_told_for_the_lead_is_the_one_that_is_fitted(show_of: BuildShow) -> None:
    show = show_of(60)
    circuit = show.layout.circuit
    fitted, wire = circuit_fuse(circuit).rating.value, circuit.wiring.lead.wire.ampacity.value
    assert fitted <= wire
    assert judge(show, 0.1)["POWER-021"].summary == f"fuse: {fitted:g} A at the pack"  # this show would do with 1 A
    thick = dataclasses.replace(
        circuit.wiring, lead=dataclasses.replace(circuit.wiring.lead, wire=find(Wire, "awg-10"))
    )
    carries = circuit_fuse(dataclasses.replace(circuit, wiring=thick)).rating.value
    assert 0.75 * carries >= circuit.current_cap
    thin = dataclasses.replace(circuit.wiring, lead=dataclasses.replace(circuit.wiring.lead, wire=find(Wire, "awg-20")))
    assert circuit_fuse(dataclasses.replace(circuit, wiring=thin)).rating.value == 1  # AWG 20 carries 1.5 A


def test_a_show_beyond_the_fuse_of_its_wire_is_told(show_of: BuildShow) -> None:
    show = show_of(60, pack={"current_limit": "9 A"})
    ampacity = show.layout.circuit.wiring.lead.wire.ampacity.value
    assert judge(show, 0.7)["POWER-021"].severity is Severity.PASS
    finding = judge(show, 0.9 * ampacity)["POWER-021"]
    assert finding.moment is not None  # the page leads to it
    assert finding.severity is Severity.WARN
    assert finding.do.startswith("take a wire for the lead that may carry 3 A")


def test_no_fuse_for_more_than_the_largest(show_of: BuildShow) -> None:
    assert judge(show_of(60), 25)["POWER-021"].severity is Severity.FAIL


def test_each_run_is_judged_by_its_own_first_pixel(show_of: BuildShow) -> None:
    """The second run is fed better than the first: its data line asks more."""
    circuit = dataclasses.replace(show_of(60).layout.circuit, board=find(Board, "m328p-8mhz-3v3-crystal"))
    runs = tuple(dataclasses.replace(circuit.runs[0], name=name) for name in ("hoop", "garland"))
    circuit = dataclasses.replace(circuit, runs=runs)
    finding = check_protection(circuit, draw_of(np.array([[4.40, 4.90], [4.30, 4.95]]), 1.0))[0]
    assert finding.severity is Severity.WARN
    assert finding.summary == (
        "lowest level of the board's data against the first pixel of garland, "
        "whose supply rises to 4.95 V; too low for garland"
    )
    assert (finding.value, finding.limit) == ("3.13 V", "at least 3.46 V")


def test_a_5_v_board_is_enough(show_of: BuildShow) -> None:
    assert judge(show_of(60), 1)["POWER-020"].severity is Severity.PASS
