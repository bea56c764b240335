"""A show that runs slow, or a watchdog that bites in a good frame, must be refused."""

from __future__ import annotations

import pytest

from lampwright.firmware.bits import BitCycles
from lampwright.firmware.pacing import Pacing, pace
from lampwright.firmware.target import ATMEGA328P
from lampwright.units.errors import MakerError

BIT = BitCycles(6, 13, 20)


def pace_at(frame_ms: int, n_pixel: int = 150, clock: float = 16e6) -> Pacing:
    return pace(frame_ms, n_pixel, BIT, 300e-6, clock, ATMEGA328P, "arch 1")


@pytest.mark.parametrize(
    ("frame_ms", "prescaler", "counts"),
    [(10, 8, 20000), (25, 8, 50000), (32, 8, 64000), (33, 64, 8250), (100, 64, 25000)],
)
def test_the_period_is_an_exact_number_of_counts(frame_ms: int, prescaler: int, counts: int) -> None:
    pacing = pace_at(frame_ms)
    assert (pacing.prescaler, pacing.timer_counts) == (prescaler, counts)
    assert pacing.period_cycles == frame_ms * 16000


def test_a_watchdog_reset_costs_the_frames_that_pass_meanwhile() -> None:
    # 150 pixels: fed 4.5 ms after a tick, 250 ms to the bite, 1.0 ms to start up: 255.5 ms of 25 ms
    assert pace_at(25).lost_to_watchdog == 10
    assert pace_at(10).lost_to_watchdog == 26


def test_a_period_shorter_than_the_line_is_refused() -> None:
    with pytest.raises(MakerError) as caught:
        pace_at(10, n_pixel=400)
    assert str(caught.value) == (
        'error FIRMWARE-003: circuit "arch 1" can\'t keep this frame period\n'
        "found:   10 ms\n"
        "allowed: 13 ms to 100 ms\n"
        'do:      write rate = "76.9231 /s", which is 13 ms a frame   (lampwright explain FIRMWARE-003)'
    )


def test_a_period_that_wakes_the_watchdog_is_refused() -> None:
    with pytest.raises(MakerError) as caught:
        pace_at(200)
    assert str(caught.value) == (
        'error FIRMWARE-003: circuit "arch 1" can\'t keep this frame period\n'
        "found:   200 ms\n"
        "allowed: 5 ms to 100 ms\n"
        'do:      write rate = "10 /s", which is 100 ms a frame   (lampwright explain FIRMWARE-003)'
    )


def test_a_period_between_timer_steps_is_refused_with_its_neighbours() -> None:
    # 14.7456 MHz: 14745.6 cycles a millisecond, so only every fifth is whole
    assert pace_at(25, clock=14.7456e6).period_cycles == 368640
    with pytest.raises(MakerError) as caught:
        pace_at(27, clock=14.7456e6)
    assert str(caught.value) == (
        'error FIRMWARE-003: circuit "arch 1" can\'t keep this frame period\n'
        "found:   27 ms\n"
        "allowed: 6 ms to 100 ms in whole timer steps; nearest: 20 ms, 25 ms, 30 ms\n"
        'do:      write rate = "40 /s", which is 25 ms a frame   (lampwright explain FIRMWARE-003)'
    )


def test_too_many_pixels_for_any_period_are_refused() -> None:
    with pytest.raises(MakerError) as caught:
        pace_at(25, n_pixel=4000)
    assert str(caught.value) == (
        'error FIRMWARE-003: no frame period works for circuit "arch 1"\n'
        "found:   121 ms to send all pixels, at 16 MHz\n"
        "allowed: at most 100 ms a frame\n"
        "do:      split the circuit, or choose a board with another clock   (lampwright explain FIRMWARE-003)"
    )
