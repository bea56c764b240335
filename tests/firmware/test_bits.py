"""Bit times that a pixel would misread must never be written."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.firmware.bits import BitCycles, bit_cycles_for, choose_bit_cycles
from lampwright.firmware.sender_text import pause
from lampwright.parts import LineTiming, Strip, Window, find
from lampwright.units.errors import MakerError

WS2812B = find(Strip, "ws2812b-60").timing
SK6812 = find(Strip, "sk6812-60").timing


def test_16_mhz_sends_ws2812b_in_6_13_and_20_cycles() -> None:
    assert choose_bit_cycles(WS2812B, 16e6, 80e-6) == BitCycles(6, 13, 20)


def test_a_resonator_of_one_percent_still_fits() -> None:
    assert choose_bit_cycles(WS2812B, 16e6, 0.01) == BitCycles(6, 13, 20)


def test_sk6812_gets_its_own_shorter_bits() -> None:
    # typical: high 4.8 or 9.6 cycles, 19.2 in all
    assert choose_bit_cycles(SK6812, 16e6, 80e-6) == BitCycles(5, 10, 19)


def test_a_clock_too_slow_is_refused_with_those_that_fit() -> None:
    with pytest.raises(MakerError) as caught:
        bit_cycles_for(WS2812B, 7e6, 80e-6, "arch 1")
    assert str(caught.value) == (
        'error FIRMWARE-002: the clock of circuit "arch 1" can\'t meet the bit times of its pixels\n'
        "found:   7 MHz, within 0.008 %\n"
        "allowed: 8 MHz, 9 MHz, 10 MHz, 11 MHz, 12 MHz, 13 MHz, "
        "14 MHz, 15 MHz, 16 MHz, 17 MHz, 18 MHz, 19 MHz, 20 MHz\n"
        "do:      choose a board with one of these clocks   (lampwright explain FIRMWARE-002)"
    )


def test_a_clock_too_inaccurate_is_refused() -> None:
    with pytest.raises(MakerError) as caught:
        bit_cycles_for(WS2812B, 16e6, 0.5, "arch 1")
    assert str(caught.value) == (
        'error FIRMWARE-002: the clock of circuit "arch 1" can\'t meet the bit times of its pixels\n'
        "found:   16 MHz, within 50 %\n"
        "allowed: no clock up to 20 MHz; the clock is too inaccurate\n"
        "do:      choose a board with a crystal   (lampwright explain FIRMWARE-002)"
    )


@given(
    clock=st.floats(1e6, 20e6),
    tolerance=st.floats(0, 0.1),
    typical=st.tuples(*[st.floats(0.1e-6, 1.5e-6)] * 4),
    half=st.floats(0.02e-6, 0.3e-6),
)
def test_whatever_is_chosen_stays_in_every_window_at_both_ends_of_the_clock(
    clock: float, tolerance: float, typical: tuple[float, float, float, float], half: float
) -> None:
    windows = [Window(max(0, t - half), t, t + half) for t in typical]
    bit = choose_bit_cycles(LineTiming(*windows, latch=300e-6), clock, tolerance)
    if bit is None:
        return
    halves = (bit.zero_high, bit.zero_low, bit.one_high, bit.one_low)
    for cycles, window in zip(halves, windows, strict=True):
        assert window.least <= cycles / (clock * (1 + tolerance)) * (1 + 1e-9)
        assert cycles / (clock * (1 - tolerance)) <= window.most * (1 + 1e-9)


@pytest.mark.parametrize("cycles", range(12))
def test_a_pause_lasts_its_cycles(cycles: int) -> None:
    text = pause(cycles)
    assert 2 * text.count("PAUSE_2") + text.count("PAUSE_1") == cycles
