"""Line times against the pixels' data sheets.

Sources
-------
WS2812B data sheet, timing table and data format: 24 bits a pixel, 1.25 µs a bit (T0H 0.40 + T0L 0.85,
T1H 0.80 + T1L 0.45), so 30 µs a pixel; newer generations ask for a reset above 280 µs, 300 µs is taken.
SK6812 data sheet: T0H 0.3 + T0L 0.9, T1H 0.6 + T1L 0.6, so 1.2 µs a bit and 28.8 µs a pixel.
Frame times below are those products, worked out by hand.
"""

from __future__ import annotations

import pytest

from lampwright.parts import Strip, find
from lampwright.power.line import bit_time, most_frames_per_second, write_time


def test_a_ws2812b_bit_takes_1250_nanoseconds() -> None:
    assert bit_time(find(Strip, "ws2812b-60").timing) == pytest.approx(1.25e-6)


@pytest.mark.parametrize(("n_pixel", "milliseconds"), [(1, 0.030), (60, 1.80), (144, 4.32), (150, 4.50), (300, 9.00)])
def test_ws2812b_takes_30_microseconds_a_pixel(n_pixel: int, milliseconds: float) -> None:
    assert write_time(n_pixel, find(Strip, "ws2812b-60").timing) == pytest.approx(milliseconds / 1e3)


def test_150_pixels_allow_208_frames_a_second() -> None:
    assert most_frames_per_second(150, find(Strip, "ws2812b-60").timing) == pytest.approx(208.3, abs=0.05)


def test_sk6812_takes_28_8_microseconds_a_pixel() -> None:
    assert write_time(1, find(Strip, "sk6812-60").timing) == pytest.approx(28.8e-6)
