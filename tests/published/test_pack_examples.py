"""Battery packs against worked examples.

Sources
-------
A  Common trade example, met on several pages: a pack of 10,000 mAh (3.7 V cells) holds 7400 mAh at 5 V
   without loss and 5920 mAh at 80 % efficiency. At 85 % the same sum gives 6290 mAh.
B  Lithium-ion capacity against temperature, from the specification of a high-rate cell: 100 % at
   25 °C, 80 % at 0 °C, 75 % at -10 °C, 60 % at -20 °C. So 6.29 h at 1 A become 5.03 h at 0 °C.
C  Brightness that a pack allows, by calculator: 150 pixels, 0.7 mA dark, 33.3 mA white, board 25 mA:
   255 × (2.0 - 0.105 - 0.025) / (150 × 0.0333) = 95.47; with 1.6 A 75.05.
D  End of a lithium-ion cell's life: 80 % of the rated charge, after 300 to 500 cycles (looked up, and from memory).
E  Low-load shut-off: one common pack controller chip's data sheet, below 45 mA for 32 s; sums by hand.
F  USB 2.0, USB 3.x, Battery Charging 1.2 (in excerpts); Type-C current, excerpt in IEC 63002.
G  Air travel rules for lithium packs, in summaries: 100 Wh free, 160 Wh with approval; 100 Wh / 3.7 V by hand.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from lampwright.parts import Pack, Port, find, override
from lampwright.piece.model import Bank
from lampwright.power.drain import Load, drain, energy_left
from lampwright.power.draw import idle_current
from lampwright.power.energy_check import FLOWN_FREELY
from lampwright.power.keep_awake import resistor_for
from lampwright.power.pack import age_share, cell_energy, cold_share, white_cap, whole_percent_below
from lampwright.power.wiring import source_of
from tests.power.conftest import ONE_PACK, layout_of

MAH = 3.6
"""Coulombs in a milliampere hour."""


@pytest.mark.parametrize(("efficiency", "printed"), [("100 %", 7400), ("85 %", 6290), ("80 %", 5920)])
def test_ten_thousand_mah_at_the_output(efficiency: str, printed: float) -> None:
    pack = override(find(Pack, "pack-10ah-2a"), {"charge": "10000 mAh", "efficiency": efficiency})
    circuit = dataclasses.replace(layout_of(10, {}, {}, {}, None, ONE_PACK).circuit, source=pack)
    steady = Load(1.0, np.ones(60), np.ones(1))  # 1 A, where the converter is at its best
    assert drain(steady, circuit, cell_energy(pack)).lasts * 1.0 / MAH == pytest.approx(printed, abs=0.5)


@pytest.mark.parametrize(
    ("celsius", "share"),
    [(40, 1.0), (25, 1.0), (0, 0.80), (-5, 0.775), (-10, 0.75), (-20, 0.60), (-40, 0.60)],
)
def test_cold_takes_its_share(celsius: float, share: float) -> None:
    # -5 °C lies halfway between two printed points; beyond the printed ends the end's figure stays.
    assert cold_share(find(Pack, "pack-10ah-2a"), celsius + 273.15) == pytest.approx(share)


@pytest.mark.parametrize(("budget", "code"), [(2.0, 95.47), (1.6, 75.05)])
def test_brightness_that_the_pack_allows(budget: float, code: float) -> None:
    assert white_cap(budget, 150, 0.0007, 0.025, 0.0333) == pytest.approx(code, abs=0.005)


def test_cap_is_rounded_down() -> None:
    assert whole_percent_below(95.47 / 255) == 37
    assert whole_percent_below(0.29) == 29
    assert whole_percent_below(-0.2) == 0


def test_thirty_seven_watt_hours() -> None:
    # A: 10,000 mAh at 3.7 V
    pack = override(find(Pack, "pack-10ah-2a"), {"charge": "10000 mAh"})
    assert cell_energy(pack) / 3600 == pytest.approx(37.0)


@pytest.mark.parametrize(("celsius", "aged", "hours"), [(25, 1.0, 6.29), (0, 1.0, 5.03), (0, 0.8, 4.03)])
def test_run_time_at_freezing_and_aged_too(celsius: float, aged: float, hours: float) -> None:
    """6.29 h at 1 A become 5.03 h at 0 °C (source B) and 4.03 h at 80 % of the charge too."""
    pack = override(find(Pack, "pack-10ah-2a"), {"charge": "10 Ah", "efficiency": "85 %"})
    circuit = layout_of(10, {}, {}, {}, None, ONE_PACK).circuit
    cycles = 300.0 if aged < 1 else 0.0  # 80 % after 300 cycles, the lower end of D
    circuit = dataclasses.replace(circuit, source=pack, bank=Bank(cycles=cycles))
    load = Load(1.0, np.ones(60), np.ones(1))
    found = drain(load, circuit, energy_left(circuit, celsius + 273.15))
    assert found.lasts / 3600 == pytest.approx(hours, abs=0.006)


@pytest.mark.parametrize(("cycles", "share"), [(0, 1.0), (150, 0.9), (300, 0.8)])
def test_cycles_take_their_share(cycles: float, share: float) -> None:
    # D: 80 % after 300 to 500 cycles; the fewer
    assert age_share(find(Pack, "pack-10ah-2a"), cycles) == pytest.approx(share)


@pytest.mark.parametrize(("pixels", "quiescent", "board", "printed"), [(30, 0.6, 15, 33), (150, 0.7, 20, 125)])
def test_what_is_drawn_dark(pixels: int, quiescent: float, board: float, printed: float) -> None:
    """E: 30 × 0.6 + 15 = 33 mA trips a controller of 45 mA, 150 × 0.7 + 20 = 125 mA holds it."""
    layout = layout_of(pixels, {"quiescent_current": f"{quiescent} mA"}, {}, {"current": f"{board} mA"}, None, ONE_PACK)
    assert idle_current(layout) * 1000 == pytest.approx(printed)
    assert (printed < 45) == (pixels == 30)


def test_a_resistor_that_keeps_such_a_pack_awake() -> None:
    # E, by hand: 45 - 33 = 12 mA of 5 V ask at most 417 ohm; of the E12 series (IEC 60063) 390 ohm, 12.8 mA, 64 mW
    found = resistor_for(0.045 - 0.033, 5.0)
    assert (found.resistance, found.size) == (390.0, 0.25)
    assert (found.current, found.power) == pytest.approx((0.0128, 0.0641), abs=5e-5)


@pytest.mark.parametrize(
    ("port", "amperes"),
    [("usb-2", 0.5), ("usb-3", 0.9), ("usb-charging", 1.5), ("usb-c", 0.5), ("usb-c-1a5", 1.5), ("usb-c-3a", 3.0)],
)
def test_what_ports_give_by_their_standard(port: str, amperes: float) -> None:
    """F: USB 2.0 500 mA configured, USB 3.x 900 mA; Battery Charging 1.2 1.5 A; Type-C default, 1.5 A, 3 A."""
    found = find(Port, port)
    assert found.current_limit.value == amperes
    assert (found.voltage_least.value, found.voltage_most.value) == (4.75, 5.25)


def test_the_droop_of_a_port_is_what_usb_allows() -> None:
    # F: 5 V nominal, 4.75 V at a loaded port
    circuit = layout_of(10, {}, {}, {}, None, ONE_PACK).circuit
    source = source_of(circuit)
    assert source.voltage - source.resistance * circuit.pack.current_limit.value == pytest.approx(4.75)


def test_a_hundred_watt_hours_by_air() -> None:
    """G: 100 Wh are 27,027 mAh at 3.7 V."""
    pack = override(find(Pack, "pack-10ah-2a"), {"charge": "27027 mAh"})
    assert cell_energy(pack) == pytest.approx(FLOWN_FREELY, rel=1e-6)
