"""How long the data line is busy."""

from __future__ import annotations

from lampwright.parts.model import LineTiming

BITS_PER_PIXEL = 24
"""Eight each for green, red and blue (WS2812B datasheet, data format)."""


def bit_time(timing: LineTiming) -> float:
    """Return the typical duration of one bit, the longer of a zero's and a one's. [s]"""
    return max(
        timing.zero_high.typical + timing.zero_low.typical,
        timing.one_high.typical + timing.one_low.typical,
    )


def write_time(n_pixel: int, timing: LineTiming) -> float:
    """Return how long sending this many pixels keeps the line busy, the latch not counted. [s]

    Source
    ------
    WS2812B datasheet, timing table: 1.25 µs a bit, so 24 × 1.25 µs = 30 µs a pixel.
    """
    return n_pixel * BITS_PER_PIXEL * bit_time(timing)


def most_frames_per_second(n_pixel: int, timing: LineTiming) -> float:
    """Return the frame rate at which the line has no time left. [1/s]"""
    return 1.0 / (write_time(n_pixel, timing) + timing.latch)
