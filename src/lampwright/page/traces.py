"""Curves beside the time bar: what each circuit draws, its lowest supply, what its pack has left, over the night."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from lampwright.piece.model import Circuit
from lampwright.power.drain import energy_left, extra_load
from lampwright.power.draw import Draw
from lampwright.power.pack import cell_power
from lampwright.signoff import Report

MOST_POINTS = 900
"""Points of a curve; a screen has no more room beside the piece."""


def traces_of(report: Report) -> list[dict[str, Any]]:
    """Return each circuit's curves over standby and one pass, ready for JSON.

    ``draw`` is the highest current [A] and ``volts`` the lowest supply of any pixel [V] within each of equal
    stretches of time, so that nothing bad is lost; ``peakAt`` and ``lowestAt`` are when each is worst [s];
    ``left`` is the share of the packs' energy at the end of each stretch, cold and age taken off, nothing where a
    supply feeds the circuit; ``seconds`` is the length of a stretch.
    """
    curves = []
    for show, draw, rail in zip(report.shows, report.draws, report.rails, strict=True):
        circuit = show.layout.circuit
        n_frame = draw.standby_frames + draw.pass_frames
        size = max(1, -(-n_frame // MOST_POINTS))
        current, volts = draw.current[:n_frame], rail.lowest[:n_frame].astype(np.float64)
        curves.append(
            {
                "name": show.layout.circuit.name,
                "seconds": size * draw.frame_period,
                "draw": _rounded(_highest(current, size)),
                "cap": show.layout.circuit.current_cap,
                "limit": circuit.source_limit,
                "peakAt": int(current.argmax()) * draw.frame_period,
                "volts": _rounded(-_highest(-volts, size)),
                "leastVolts": circuit.strip.supply_least.value,
                "lowestAt": int(volts.argmin()) * draw.frame_period,
                "left": [] if circuit.is_on_mains else _left(circuit, report.piece.brief.coldest, draw, size),
            }
        )
    return curves


def _left(circuit: Circuit, coldest: float, draw: Draw, size: int) -> list[float]:
    current = draw.current[: draw.standby_frames + draw.pass_frames]
    energy = circuit.bank.count * energy_left(circuit, coldest)
    return _rounded(1 - _used(draw, cell_power(circuit.pack, current + extra_load(circuit)), size) / energy)


def _highest(values: NDArray[np.float64], size: int) -> NDArray[np.float64]:
    return np.maximum.reduceat(values, np.arange(0, len(values), size))


def _used(draw: Draw, power: NDArray[np.float64], size: int) -> NDArray[np.float64]:
    """Return the energy that the cells have spent by the end of each stretch. [J]"""
    return np.cumsum(np.add.reduceat(power, np.arange(0, len(power), size))) * draw.frame_period


def _rounded(values: NDArray[np.float64]) -> list[float]:
    return [float(value) for value in np.round(values, 4)]
