"""A line kept busy too long leaves no time to work out the next frame."""

from __future__ import annotations

import dataclasses

import pytest

from lampwright.parts import Strip, find
from lampwright.power.line import bit_time, write_time


def test_the_longer_bit_counts_where_zero_and_one_differ() -> None:
    timing = find(Strip, "ws2812b-60").timing
    longer = dataclasses.replace(timing, one_low=dataclasses.replace(timing.one_low, typical=0.6e-6))
    assert bit_time(longer) == pytest.approx(1.4e-6)


def test_no_pixels_take_no_time() -> None:
    assert write_time(0, find(Strip, "ws2812b-60").timing) == 0.0
