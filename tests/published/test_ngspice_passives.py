"""Whether capacitors and data lines do what a circuit simulator shows.

Source: ngspice, the Debian package, run as ``ngspice -b``: transients, voltages and currents written by ``wrdata``.
"""

from __future__ import annotations

import dataclasses
import subprocess
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from lampwright.layout.model import CircuitLayout
from lampwright.parts import Strip, Wire, find
from lampwright.piece.model import Cable, Feed
from lampwright.power.bulk import Bulk, capacitance_needed, inrush_of
from lampwright.power.data_line import LEAD_CAPACITANCE, read_length, time_constant
from tests.power.conftest import ONE_PACK, layout_of

Floats = NDArray[np.float64]
INPUT = find(Strip, "ws2812b-60").input_capacitance.value


def transient(lines: list[str], step: str, end: str, shown: str, folder: Path) -> tuple[Floats, Floats]:
    """Return times [s] and what is shown of a transient."""
    control = [".control", f"tran {step} {end} uic", f"wrdata out.txt {shown}", "quit", ".endc", ".end"]
    (folder / "net.cir").write_text("\n".join(["passives", *lines, ".options reltol=1e-6", *control]) + "\n")
    run = subprocess.run(["ngspice", "-b", "net.cir"], cwd=folder, capture_output=True, text=True, check=False)
    assert (folder / "out.txt").exists(), run.stdout + run.stderr
    table = np.loadtxt(folder / "out.txt")
    return table[:, 0], table[:, 1]


def crossing(times: Floats, values: Floats, level: float, rising: bool) -> float:
    """Return when a curve crosses a level, interpolated. [s]"""
    above = values > level
    at = int(np.flatnonzero(above[1:] & ~above[:-1] if rising else above[:-1] & ~above[1:])[0])
    share = (level - values[at]) / (values[at + 1] - values[at])
    return float(times[at] + share * (times[at + 1] - times[at]))


@pytest.mark.parametrize("threshold", [0.3, 0.7])
@pytest.mark.parametrize(("ohms", "lead", "sent"), [(330, 2.0, 400e-9), (330, 2.0, 800e-9), (470, 5.0, 400e-9)])
def test_a_pulse_is_as_long_as_the_simulator_shows(
    ohms: float, lead: float, sent: float, threshold: float, tmp_path: Path
) -> None:
    farads = LEAD_CAPACITANCE * lead + INPUT
    times, volts = transient(
        [f"Vpin pin 0 PULSE(0 5 10n 10p 10p {sent!r} 10u)", f"Rdata pin din {ohms}", f"Cline din 0 {farads!r} IC=0"],
        "0.05n",
        "3u",
        "v(din)",
        tmp_path,
    )
    theirs = crossing(times, volts, 5 * threshold, False) - crossing(times, volts, 5 * threshold, True)
    assert read_length(sent, time_constant(ohms, lead, INPUT), threshold) == pytest.approx(theirs, abs=0.3e-9)


def test_a_rail_dips_by_what_was_allowed(tmp_path: Path) -> None:
    """A step of 1.5 A held up for 100 us by the capacitor alone; its own 30 mohm left out, as in the formula."""
    farads = capacitance_needed(1.5, 100e-6, 0.2)
    times, volts = transient(
        [f"Crail rail 0 {farads!r} IC=5", "Istep rail 0 PULSE(0 1.5 10u 1n 1n 100u 1)", "Rbig rail 0 1g"],
        "0.1u",
        "150u",
        "v(rail)",
        tmp_path,
    )
    assert times[-1] > 120e-6
    assert 5 - volts.min() == pytest.approx(0.2, rel=1e-3)


def two_runs() -> CircuitLayout:
    """Return a circuit whose second run hangs on 3 m of wire."""
    layout = layout_of(60, {}, {}, {}, None, ONE_PACK)
    run = layout.circuit.runs[0]
    far = dataclasses.replace(run, name="far", feeds=(Feed(0.0, Cable(find(Wire, "awg-20"), 3.0)),))
    circuit = dataclasses.replace(layout.circuit, runs=(run, far))
    placed = dataclasses.replace(layout.runs[0], run=far)
    return dataclasses.replace(layout, circuit=circuit, runs=(*layout.runs, placed))


@pytest.mark.parametrize(("near", "far"), [(1000e-6, 0.0), (1000e-6, 330e-6), (680e-6, 680e-6)])
def test_what_empty_capacitors_take_of_a_live_pack(near: float, far: float, tmp_path: Path) -> None:
    """By hand: lead 0.5 m of AWG 18 and two contacts, 40.95 mohm; 0.3 m of AWG 18, 3 m of AWG 20; 30 mohm each.

    Two capacitors are taken as one, so the time above 6 A is held to a fifth only.
    """
    lines = ["Vpack pack 0 5", "Rlead pack hub 40.95m"]
    lines += ["Rnear hub a 42.57m", f"Cnear a 0 {near!r} IC=0"]
    if far:
        lines += ["Rfar hub b 229.86m", f"Cfar b 0 {far!r} IC=0"]
    times, current = transient(lines, "0.2u", "1m", "-i(Vpack)", tmp_path)
    inrush = inrush_of(two_runs(), [Bulk("strip", near, True), Bulk("far", far, True)])
    assert inrush is not None
    assert inrush.peak == pytest.approx(current.max(), rel=0.01)
    assert inrush.time_above(6.0) == pytest.approx(crossing(times, current, 6.0, False), rel=0.2 if far else 0.01)
    charge = float(np.trapezoid(current, times))
    assert inrush.charge == pytest.approx(charge, rel=0.05)
