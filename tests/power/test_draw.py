"""A draw counted wrongly is a pack that cuts out in mid-show."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from lampwright.power import Draw
from lampwright.power.draw import lowest_mean
from lampwright.show.model import CircuitShow

BuildShow = Callable[..., CircuitShow]
MeasureFrames = Callable[[CircuitShow, NDArray[np.uint8]], Draw]


def grey(levels: list[int], n_pixel: int = 100) -> NDArray[np.uint8]:
    """Return frames in which all pixels stand at one code."""
    return np.repeat(np.array(levels, dtype=np.uint8), n_pixel * 3).reshape(len(levels), n_pixel, 3)


def test_each_channel_counts_with_its_own_current(show_of: BuildShow, measure: MeasureFrames) -> None:
    show = show_of(
        10,
        strip={"red_current": "10 mA", "green_current": "12 mA", "blue_current": "14 mA"},
        pass_frames=3,
    )
    frames = np.zeros((3, 10, 3), dtype=np.uint8)
    frames[0, 0, 0] = frames[1, :, 1] = frames[2, 3, 2] = 255
    # board 30 mA + 10 dark pixels at 1 mA + what shines
    assert measure(show, frames).current == pytest.approx([0.050, 0.160, 0.054])


def test_full_white_is_what_the_strip_states(show_of: BuildShow, measure: MeasureFrames) -> None:
    draw = measure(show_of(10), grey([0, 51, 255, 0], 10))
    assert draw.current == pytest.approx([0.040, 0.160, 0.640, 0.040])
    assert (draw.peak, draw.peak_time) == pytest.approx((0.640, 0.050))


def test_standby_and_show_are_averaged_apart(show_of: BuildShow, measure: MeasureFrames) -> None:
    draw = measure(show_of(10, standby_frames=2, pass_frames=2), grey([0, 51, 255, 0], 10))
    assert draw.mean_standby == pytest.approx(0.100)
    assert draw.mean_show == pytest.approx(0.340)


def test_limiter_is_counted_only_where_it_dims(show_of: BuildShow, measure: MeasureFrames) -> None:
    # 100 white pixels ask for 6 A of light; the cap leaves 1.6 - 0.13 = 1.47 A. By hand, in the limiter's
    # whole numbers: load 153,000,000, cap 37,485,000, scale 37,485,000 // 597,657 = 62, code 255 × 62 >> 8 = 61.
    draw = measure(show_of(), grey([0, 62, 255, 10]))
    assert draw.limited_share == 0.25
    assert draw.wanted_peak == pytest.approx(6.13)
    assert draw.peak <= 1.6
    assert draw.deepest_dimming == pytest.approx(61 / 255)


def test_dark_frames_do_not_count_as_dimmed(show_of: BuildShow, measure: MeasureFrames) -> None:
    draw = measure(show_of(), grey([0, 0, 0, 0]))
    assert (draw.limited_share, draw.deepest_dimming) == (0.0, 1.0)


def test_lowest_mean_finds_the_quiet_stretch() -> None:
    current = np.array([0.160, 0.040, 0.160, 0.040, 0.040, 0.280])
    assert lowest_mean(current, 1.0, 2.0) == pytest.approx((0.040, 3.0))
    assert lowest_mean(current, 1.0, 3.0) == pytest.approx((0.080, 1.0))
    assert lowest_mean(current, 1.0, 100.0) == pytest.approx((0.120, 0.0))  # shorter than asked: all of it
