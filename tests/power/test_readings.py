"""Meter readings: what a maker measured is what the program goes on with, and it says how well it knows it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence

import numpy as np
import pytest

from lampwright.layout.model import CircuitLayout
from lampwright.parts.model import Status
from lampwright.piece.model import Reading, Wiring
from lampwright.power import ready_rails
from lampwright.power.readings import FIGURES, fit_readings, with_readings
from lampwright.show.model import CircuitShow

BuildShow = Callable[..., CircuitShow]

TRUE = {
    "quiescent_current": 0.0008,
    "red_current": 0.0165,
    "green_current": 0.0150,
    "blue_current": 0.0140,
    "rail_resistance": 0.11,
    "pack_droop": 0.06,
}
SWEEP = [(0, 0, 0), (120, 0, 0), (0, 120, 0), (0, 0, 120), (60, 60, 60), (255, 0, 0)]


def read_meter(layout: CircuitLayout, patterns: Sequence[tuple[int, int, int]], noise: float = 0.0) -> CircuitLayout:
    """Return the layout with readings of a strip whose real figures are ``TRUE``."""
    rng = np.random.default_rng(5)
    run = layout.runs[0].run
    figures = {
        name: dataclasses.replace(getattr(run.strip, name), value=value)
        for name, value in TRUE.items()
        if name != "pack_droop"
    }
    real_run = dataclasses.replace(run, strip=dataclasses.replace(run.strip, **figures))
    wiring = Wiring(pack_droop=TRUE["pack_droop"])
    circuit = dataclasses.replace(layout.circuit, runs=(real_run,), wiring=wiring)
    real = dataclasses.replace(layout, circuit=circuit, runs=(dataclasses.replace(layout.runs[0], run=real_run),))
    rails = ready_rails(real)
    readings = []
    for codes in patterns:
        frame = rails.frame(np.tile(np.array(codes, np.uint8), (layout.n_pixel, 1)))
        shown = [frame.pack_current, frame.pixel_voltage[0], frame.pixel_voltage[-1]]
        current, head, far_end = (each * (1 + noise * rng.normal()) for each in shown)
        readings.append(Reading(codes, current, head, far_end, "strip"))
    return dataclasses.replace(layout, circuit=dataclasses.replace(layout.circuit, readings=tuple(readings)))


def test_exact_readings_give_back_the_strip_they_were_taken_from(show_of: BuildShow) -> None:
    fit = fit_readings(read_meter(show_of(60).layout, SWEEP))
    assert [each.name for each in fit.figures] == list(FIGURES)
    for each in fit.figures:
        assert each.value == pytest.approx(TRUE[each.name], rel=1e-4), each.name
    assert fit.misfit < 1e-3


def test_the_truth_lies_within_three_standard_uncertainties_of_a_noisy_meter(show_of: BuildShow) -> None:
    fit = fit_readings(read_meter(show_of(120).layout, SWEEP * 3, noise=0.003))
    for each in fit.figures:
        assert abs(each.value - TRUE[each.name]) < 3 * each.uncertainty, each.name
    known = {each.name for each in fit.figures if each.is_determined}
    assert {"red_current", "green_current", "blue_current", "pack_droop"} <= known


def test_white_alone_does_not_claim_to_know_each_colour(show_of: BuildShow) -> None:
    fit = fit_readings(read_meter(show_of(60).layout, [(0, 0, 0), (60, 60, 60), (100, 100, 100)]))
    figures = {each.name: each for each in fit.figures}
    assert not any(figures[f"{colour}_current"].is_determined for colour in ("red", "green", "blue"))
    assert figures["pack_droop"].value == pytest.approx(TRUE["pack_droop"], rel=1e-2)
    total = sum(figures[f"{colour}_current"].value for colour in ("red", "green", "blue"))
    assert total == pytest.approx(0.0165 + 0.0150 + 0.0140, rel=1e-3)


def test_findings_can_say_that_a_figure_was_measured(show_of: BuildShow) -> None:
    layout = with_readings(read_meter(show_of(120).layout, SWEEP))
    red = layout.circuit.strip.red_current
    assert red.status is Status.MEASURED
    assert red.value == pytest.approx(0.0165, rel=1e-3)
    assert red.text.startswith("16.5 mA ± ")
    assert layout.circuit.wiring.pack_droop == pytest.approx(0.06, rel=1e-3)


def test_a_circuit_without_readings_stays_as_it_was(show_of: BuildShow) -> None:
    layout = show_of(10).layout
    assert with_readings(layout) is layout
