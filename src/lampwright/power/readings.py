"""Fit a circuit's figures to the maker's meter readings.

Each reading gives three numbers: the current out of the pack, the volts at the head and at the far end of a run. The
rail network of :mod:`lampwright.power.solve` predicts them from six figures: quiescent and channel currents, the
strip's rail resistance, the pack's droop. Weighted least squares (Gauss-Newton) finds the figures that come nearest::

    minimise sum(((measured - predicted) / sigma)**2),   covariance = inverse(J' J) max(1, chi2 / (n - p))

with ``J`` the predictions' slopes over sigma. Where readings tell a sum alone, such as three channels after white
alone, all of its parts change by the same share; such a figure is not determined, and is named as computed.

Source
------
Bevington and Robinson, Data Reduction and Error Analysis for the Physical Sciences, chapters 6 to 8 (from memory).
What a hand meter misses: common practice, no source.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.model import CircuitLayout
from lampwright.parts.model import Figure, Status, Strip
from lampwright.piece.model import Circuit
from lampwright.power.solve import Rails
from lampwright.power.wiring import source_of, wire_up
from lampwright.units import Kind, format_quantity

Floats = NDArray[np.float64]

CURRENT_MISS = (0.01, 0.003)
"""A hand meter's standard uncertainty: share of the reading, and more [A] (common practice, no source)."""
VOLTAGE_MISS = (0.005, 0.005)
"""A hand meter's standard uncertainty: share of the reading, and more [V] (common practice, no source)."""

STEPS = 12
SLOPE_STEP = 1e-5
WEAKEST = 1e-6
"""Directions that matter less than this share of the strongest count as unknown (our choice)."""
BOUNDLESS = 1e6
PLAUSIBLE = (0.1, 10.0)
"""Between these many times where it started a figure is sought (our choice)."""
UNDETERMINED = 0.5
"""A figure whose standard uncertainty is more than this share of it counts as not determined (our choice)."""

FIGURES = ("quiescent_current", "red_current", "green_current", "blue_current", "rail_resistance", "pack_droop")
KINDS: dict[str, Kind] = {
    **dict.fromkeys(FIGURES[:4], "current"),
    "rail_resistance": "linear resistance",
    "pack_droop": "resistance",
}


@dataclass(frozen=True)
class Fitted:
    """One figure: its value and standard uncertainty, and whether the readings determine it."""

    name: str
    value: float
    uncertainty: float
    is_determined: bool


@dataclass(frozen=True)
class Fit:
    """All figures after a fit, in the order of ``FIGURES``."""

    figures: tuple[Fitted, ...]
    misfit: float
    """Root of the mean square of (measured - predicted) / sigma; about 1 for an honest model and meter. [1]"""
    n_reading: int


def fit_readings(layout: CircuitLayout) -> Fit:
    """Return the figures that come nearest to the circuit's readings."""
    circuit = layout.circuit
    strip = circuit.strip
    start = np.array([*(getattr(strip, name).value for name in FIGURES[:5]), source_of(circuit).resistance])
    measured = np.array([[each.current, each.head, each.far_end] for each in circuit.readings])
    sigma = np.stack(
        [CURRENT_MISS[0] * measured[:, 0] + CURRENT_MISS[1]]
        + [VOLTAGE_MISS[0] * measured[:, column] + VOLTAGE_MISS[1] for column in (1, 2)],
        axis=1,
    )
    values, covariance, misfit = _least_squares(layout, start, measured, sigma)
    spread = np.sqrt(np.diag(covariance))
    told = zip(FIGURES, values, spread, spread <= UNDETERMINED * values, strict=True)
    return Fit(
        tuple(Fitted(name, float(value), float(miss), bool(known)) for name, value, miss, known in told),
        misfit,
        len(measured),
    )


def _least_squares(
    layout: CircuitLayout, start: Floats, measured: Floats, sigma: Floats
) -> tuple[Floats, Floats, float]:
    """Return the values, their covariance and the misfit; figures in units of where they start.

    The shortest step is taken among all that fit alike: what the readings say nothing of stays as it was, and where
    they tell a sum alone, its parts grow in step.
    """
    scale, factors = start + 1e-9, np.ones(len(start))
    slopes = np.empty((measured.size, len(start)))

    def miss(at: Floats) -> Floats:
        return ((measured - _predict(layout, at * scale)) / sigma).ravel()

    for _ in range(STEPS):
        missed = miss(factors)
        for column in range(len(start)):
            moved = factors.copy()
            moved[column] += SLOPE_STEP
            slopes[:, column] = (missed - miss(moved)) / SLOPE_STEP
        step = np.linalg.pinv(slopes, rcond=WEAKEST) @ missed
        factors = np.clip(factors + np.clip(step, -0.7, 3.0), *PLAUSIBLE)
        if np.abs(step).max() < 1e-8:
            break
    missed = miss(factors)
    chi2, spare = float(missed @ missed), missed.size - len(start)
    _, strength, right = np.linalg.svd(slopes, full_matrices=True)
    # a direction in which nothing changes leaves the figures in it without bound
    strength = np.concatenate([strength, np.zeros(len(start) - len(strength))])
    is_known = strength > WEAKEST * strength.max()
    spread = np.where(is_known, 1.0 / np.where(is_known, strength, 1.0), BOUNDLESS)
    covariance = (right.T * spread**2) @ right * max(1.0, chi2 / spare if spare > 0 else 1.0)
    return factors * scale, covariance * np.outer(scale, scale), float(np.sqrt(chi2 / missed.size))


def _predict(layout: CircuitLayout, values: Floats) -> Floats:
    """Return what the meter would show at each reading, (n_reading, 3)."""
    figures = {name: _figure(name, float(value), "") for name, value in zip(FIGURES[:5], values, strict=False)}
    circuit = _replaced(layout.circuit, figures, float(values[5]))
    trial = _with_circuit(layout, circuit)
    rails = Rails(wire_up(trial))
    shown = []
    for reading in circuit.readings:
        frame = rails.frame(np.tile(np.array(reading.codes, dtype=np.uint8), (layout.n_pixel, 1)))
        run = next(each for each in layout.runs if each.run.name == reading.run)
        ends = frame.pixel_voltage[[run.first, run.first + run.n_pixel - 1]]
        shown.append([frame.pack_current, *ends])
    return np.array(shown)


def measured_circuit(circuit: Circuit, fit: Fit) -> Circuit:
    """Return the circuit with the fitted figures in place of the catalogue's."""
    figures = {
        each.name: _told(each, fit.n_reading)
        for each in fit.figures[:-1]
        # what the readings say nothing of at all keeps its own source
        if each.is_determined or abs(each.value / getattr(circuit.strip, each.name).value - 1) > 1e-6
    }
    return _replaced(circuit, figures, fit.figures[-1].value)


def _told(fitted: Fitted, n_reading: int) -> Figure:
    value = format_quantity(fitted.value, KINDS[fitted.name], 3)
    if not fitted.is_determined:
        source = f"shared out: {n_reading} meter readings don't tell this figure alone"
        return Figure(fitted.value, value, Status.COMPUTED, source)
    uncertainty = format_quantity(fitted.uncertainty, KINDS[fitted.name], 2)
    return _figure(fitted.name, fitted.value, f"{value} ± {uncertainty}", f"fitted to {n_reading} meter readings")


def _figure(name: str, value: float, text: str, source: str = "") -> Figure:
    return Figure(value, text or name, Status.MEASURED, source)


def _replaced(circuit: Circuit, figures: dict[str, Figure], pack_droop: float | None) -> Circuit:
    changes: dict[str, Any] = {**figures}
    strip: Strip = dataclasses.replace(circuit.strip, **changes)
    runs = tuple(dataclasses.replace(run, strip=strip) for run in circuit.runs)
    wiring = circuit.wiring
    if pack_droop is not None:
        wiring = dataclasses.replace(wiring, pack_droop=pack_droop)
    return dataclasses.replace(circuit, runs=runs, wiring=wiring)


def _with_circuit(layout: CircuitLayout, circuit: Circuit) -> CircuitLayout:
    runs = tuple(dataclasses.replace(laid, run=run) for laid, run in zip(layout.runs, circuit.runs, strict=True))
    return dataclasses.replace(layout, circuit=circuit, runs=runs)


def with_readings(layout: CircuitLayout) -> CircuitLayout:
    """Return the layout with its circuit's figures fitted to its readings; as it is where there are none."""
    readings = tuple(each for each in layout.circuit.readings if any(r.run.name == each.run for r in layout.runs))
    if not readings:
        return layout
    circuit = dataclasses.replace(layout.circuit, readings=readings)
    return _with_circuit(layout, measured_circuit(circuit, fit_readings(_with_circuit(layout, circuit))))
