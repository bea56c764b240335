"""Pixels: a maker learns which colour goes first, and no model of ours draws more from less."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.parts import Strip, find
from lampwright.power import pixel_model as module
from lampwright.power import solve_kernels
from lampwright.power.pixel_model import channel_shares, pixel_current, pixel_model, ramp
from lampwright.power.solve import figures_of

MODEL = pixel_model(find(Strip, "ws2812b-60"))
CODES = st.tuples(*[st.integers(0, 255)] * 3)


def test_a_pixel_that_regulates_draws_the_sum_of_its_parts() -> None:
    # 0.7 mA dark, 20 mA a channel: the catalogue's figures
    codes = np.array([[255, 0, 0], [0, 0, 0], [255, 255, 255], [0, 51, 0]], dtype=np.uint8)
    drawn = pixel_current(MODEL, np.full(4, 4.5), codes)
    np.testing.assert_allclose(drawn, [0.0207, 0.0007, 0.0607, 0.0047], rtol=1e-12)


def test_blue_and_green_fade_before_red() -> None:
    # WS2812B datasheet, in copies: forward voltage red 2.0 to 2.2 V, green and blue 3.0 to 3.4 V
    red, green, blue = channel_shares(MODEL, np.array([3.45]))[0]
    assert red == 1.0
    assert 0.3 < green < 0.7
    assert green == blue


@given(CODES, st.floats(-1, 6), st.floats(0, 1))
def test_current_never_rises_as_voltage_falls(code: tuple[int, int, int], voltage: float, less: float) -> None:
    codes = np.array([code, code], dtype=np.uint8)
    high, low = pixel_current(MODEL, np.array([voltage, voltage - less]), codes)
    assert low <= high + 1e-15


def test_nothing_flows_below_the_floor() -> None:
    white = np.full((1, 3), 255, dtype=np.uint8)
    assert pixel_current(MODEL, np.array([MODEL.floor - module.FLOOR_WIDTH]), white)[0] == 0.0


def test_the_ramp_has_no_jumps_and_no_kinks() -> None:
    share = np.linspace(-0.5, 1.5, 200_001)
    value = ramp(share)
    slope = np.diff(value) / np.diff(share)
    assert np.all(np.diff(value) >= 0)
    assert np.abs(np.diff(slope)).max() < 1e-3
    assert ramp(np.array([0.0, 0.5, 1.0])) == pytest.approx([0, 0.5, 1])


@settings(deadline=None)  # the first call compiles
@given(CODES, st.floats(-1, 6))
def test_the_solver_follows_the_same_curve(code: tuple[int, int, int], voltage: float) -> None:
    codes = np.array(code, dtype=np.uint8)
    current, slope = solve_kernels.pixel(voltage, codes, figures_of(MODEL))
    assert current == pytest.approx(float(pixel_current(MODEL, np.array(voltage), codes)), abs=1e-15)
    step = 1e-6
    around = pixel_current(MODEL, np.array([voltage - step, voltage + step]), np.stack([codes, codes]))
    assert slope == pytest.approx(float(around[1] - around[0]) / (2 * step), abs=2e-5)
    assert solve_kernels.CORNER == module.CORNER
    assert solve_kernels.FLOOR_WIDTH == module.FLOOR_WIDTH
