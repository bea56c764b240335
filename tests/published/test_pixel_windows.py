"""Windows of a bit's halves as the catalogue hands them to the bench.

Sources: WS2812B datasheet, data transfer time table (from copies): T0H 0.40, T0L 0.85, T1H 0.80, T1L 0.45 µs,
each ±150 ns, reset over 50 µs; WS2812B-2020 datasheet (copy): reset over 280 µs. SK6812 datasheet, same table
(as quoted): T0H 0.3, T0L 0.9, T1H 0.6, T1L 0.6 µs, reset 80 µs; ±150 ns from memory.
"""

from __future__ import annotations

import pytest

from lampwright.parts import Strip, Window, load_catalogue

WS2812B = {"zero_high": 0.40, "zero_low": 0.85, "one_high": 0.80, "one_low": 0.45}
SK6812 = {"zero_high": 0.30, "zero_low": 0.90, "one_high": 0.60, "one_low": 0.60}
TOLERANCE = 0.15


@pytest.mark.parametrize("strip", load_catalogue().strips.values(), ids=lambda strip: strip.name)
def test_each_half_of_a_bit_is_held_to_its_datasheet(strip: Strip) -> None:
    table = {"ws2812b": WS2812B, "sk6812": SK6812}[strip.pixel]
    for half, typical in table.items():
        window: Window = getattr(strip.timing, half)
        printed = [typical - TOLERANCE, typical, typical + TOLERANCE]
        assert [1e6 * t for t in (window.least, window.typical, window.most)] == pytest.approx(printed, abs=1e-9)


@pytest.mark.parametrize("strip", load_catalogue().strips.values(), ids=lambda strip: strip.name)
def test_the_latch_satisfies_every_generation(strip: Strip) -> None:
    assert strip.timing.latch > max(50e-6, 80e-6, 280e-6)
