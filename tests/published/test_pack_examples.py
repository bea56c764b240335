"""Battery packs against worked examples.

Sources
-------
A  Common trade example, met on several pages: a pack of 10,000 mAh (3.7 V cells) holds 7400 mAh at 5 V
   without loss and 5920 mAh at 80 % efficiency. At 85 % the same sum gives 6290 mAh.
B  Lithium-ion capacity against temperature, from the specification of a high-rate cell: 100 % at
   25 °C, 80 % at 0 °C, 75 % at -10 °C, 60 % at -20 °C. So 6.29 h at 1 A become 5.03 h at 0 °C.
C  Brightness that a pack allows, by calculator: 150 pixels, 0.7 mA dark, 33.3 mA white, board 25 mA:
   255 × (2.0 - 0.105 - 0.025) / (150 × 0.0333) = 95.47; with 1.6 A 75.05.
"""

from __future__ import annotations

import pytest

from lampwright.parts import Pack, find, override
from lampwright.power.pack import cold_share, output_charge, white_cap, whole_percent_below

MAH = 3.6
"""Coulombs in a milliampere hour."""


@pytest.mark.parametrize(("efficiency", "printed"), [("100 %", 7400), ("85 %", 6290), ("80 %", 5920)])
def test_ten_thousand_mah_at_the_output(efficiency: str, printed: float) -> None:
    pack = override(find(Pack, "pack-10ah-2a"), {"charge": "10000 mAh", "efficiency": efficiency})
    assert output_charge(pack) / MAH == pytest.approx(printed, abs=0.5)


@pytest.mark.parametrize(
    ("celsius", "share"),
    [(40, 1.0), (25, 1.0), (0, 0.80), (-5, 0.775), (-10, 0.75), (-20, 0.60), (-40, 0.60)],
)
def test_cold_takes_its_share(celsius: float, share: float) -> None:
    # -5 °C lies halfway between two printed points; beyond the printed ends the end's figure stays.
    assert cold_share(find(Pack, "pack-10ah-2a"), celsius + 273.15) == pytest.approx(share)


def test_run_time_at_freezing() -> None:
    pack = override(find(Pack, "pack-10ah-2a"), {"charge": "10 Ah", "efficiency": "85 %"})
    hours = output_charge(pack) * cold_share(pack, 273.15) / 1.0 / 3600
    assert hours == pytest.approx(5.03, abs=0.005)


@pytest.mark.parametrize(("budget", "code"), [(2.0, 95.47), (1.6, 75.05)])
def test_brightness_that_the_pack_allows(budget: float, code: float) -> None:
    assert white_cap(budget, 150, 0.0007, 0.025, 0.0333) == pytest.approx(code, abs=0.005)


def test_cap_is_rounded_down() -> None:
    assert whole_percent_below(95.47 / 255) == 37
    assert whole_percent_below(0.29) == 29
    assert whole_percent_below(-0.2) == 0
