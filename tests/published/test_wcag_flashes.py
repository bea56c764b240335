"""Flashing light against the published definition.

Web Content Accessibility Guidelines (WCAG) 2.2, W3C Recommendation, "general flash and red flash thresholds":
a general flash is a pair of opposing changes in relative luminance of 10 % or more of the maximum, the
darker image being below 0.80; a red flash is a pair of opposing transitions in which a state has
R / (R + G + B) of 0.8 or more and the two states differ by more than 0.2 in the CIE 1976 UCS diagram. At most three of
either in any one second, unless the flashing area is at most 0.006 steradian within any 10 degrees of the visual field.
Relative luminance weights: 0.2126, 0.7152, 0.0722 (the same document, after IEC 61966-2-1).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from lampwright.findings.model import Severity
from lampwright.show.flash_view import FIELD_ANGLE, FREE_AREA, area_at, cone_solid_angle
from tests.show.flash_scenes import SECOND, circuit_of, findings, light, panel_of, screen, square, strip_of

WHITE, RED = (255, 255, 255), (255, 0, 0)
PANEL, STRIP = panel_of(), strip_of()


def severity(
    places: NDArray[np.float64], levels: NDArray[np.float64], colour: tuple[int, int, int] = WHITE
) -> Severity:
    """Return the result on general flashes of one circuit."""
    return findings([places], [light(levels, len(places), colour)])[0].severity


def worst(levels: NDArray[np.float64], colour: tuple[int, int, int] = WHITE) -> float:
    """Return the most general flashes in any second."""
    return screen([circuit_of(STRIP)], [light(levels, len(STRIP), colour)]).general.worst.flashes


def worst_red(first: tuple[int, int, int], second: tuple[int, int, int], rate: float = 4) -> float:
    """Return the most red flashes in any second when two colours take turns."""
    is_first = square(rate, 2)[:, None, None] > 0
    codes = np.broadcast_to(np.where(is_first, first, second), (2 * SECOND, len(STRIP), 3)).astype(np.uint8)
    return screen([circuit_of(STRIP)], [codes]).red.worst.flashes


def test_three_full_flashes_a_second_pass_and_four_fail() -> None:
    assert severity(PANEL, square(3, 4)) is Severity.PASS
    assert severity(PANEL, square(4, 4)) is Severity.FAIL


def test_four_a_second_within_the_exempt_area_are_a_warning() -> None:
    assert severity(STRIP, square(4, 4)) is Severity.WARN


@pytest.mark.parametrize(
    ("frame_ms", "rate", "most"), [(20, 3, 3.0), (25, 3, 3.0), (50, 2, 2.0), (40, 3, 3.0), (25, 5, 5.0)]
)
def test_a_steady_blink_counts_what_it_blinks(frame_ms: int, rate: int, most: float) -> None:
    time = np.arange(4000 // frame_ms) * frame_ms
    levels = np.where((time * rate) % 1000 < 500, 1.0, 0.0)
    assert screen([circuit_of(STRIP, frame_ms=frame_ms)], [light(levels, 30, WHITE)]).general.worst.flashes == most


@pytest.mark.parametrize(
    ("low", "high", "most"),
    [
        (0.0, 23 / 255, 0.0),  # 9.0 % of the maximum
        (0.0, 25 / 255, 0.0),  # 9.8 %
        (0.0, 26 / 255, 4.0),  # 10.2 %
        (0.5, 0.59, 0.5),  # the first rise from darkness, and no more
        (0.81, 1.0, 0.5),  # darker state 0.81
        (0.79, 1.0, 4.0),
    ],
)
def test_only_large_enough_changes_from_a_dark_enough_state_count(low: float, high: float, most: float) -> None:
    steady = np.full(2 * SECOND, low)
    levels = np.concatenate([steady, square(4, 2, low, high)])
    assert worst(levels) == pytest.approx(most)


def test_a_slow_fade_is_none_however_deep() -> None:
    rise = np.linspace(0, 1, 5 * SECOND)
    assert worst(np.concatenate([rise, rise[::-1], rise])) <= 1.0


def test_steps_in_one_direction_are_no_pairs() -> None:
    assert worst(np.repeat([0, 0.2, 0.4, 0.6, 0.8, 1.0], 4)) == 0.5


@pytest.mark.parametrize("late", range(0, SECOND, 7))
def test_flashes_that_straddle_a_full_second_are_found(late: int) -> None:
    burst = np.tile([1.0] * 4 + [0.0] * 4, 4)
    assert worst(np.concatenate([np.zeros(SECOND + late), burst, np.zeros(SECOND)])) == 4.0


def test_four_flashes_spread_over_more_than_a_second_are_three_and_a_half_at_most() -> None:
    burst = np.tile([1.0] * 6 + [0.0] * 6, 4)  # the last change 1.05 s after the first
    assert worst(np.concatenate([np.zeros(20), burst, np.zeros(20)])) == 3.5


def test_two_circuits_out_of_step_add_up() -> None:
    places = [PANEL, np.add(PANEL, (0, 0.01, 0))]
    one, other = square(2, 4), square(2, 4, late=0.25)
    apart = [light(one, len(PANEL), WHITE), light(other, len(PANEL), WHITE)]
    assert findings(places[:1], apart[:1])[0].severity is Severity.PASS
    general, _ = findings(places, apart)
    assert general.severity is Severity.FAIL
    assert general.value.startswith("4 flashes in a second, by 100 % of the pixels")
    in_step, _ = findings(places, [apart[0], apart[0]])
    assert in_step.severity is Severity.PASS


def test_two_small_circuits_out_of_step_are_a_warning() -> None:
    places = [STRIP, np.add(STRIP, (0, 1, 0))]
    frames = [light(square(2, 4, late=late), len(STRIP), WHITE) for late in (0.0, 0.25)]
    assert findings(places, frames)[0].severity is Severity.WARN


def test_the_exempt_area_counts_what_flashes_not_what_is_there() -> None:
    codes = light(square(4, 4), len(PANEL), WHITE)
    codes[:, 100:] = 255  # the rest of the panel is lit and still
    assert findings([PANEL], [codes])[0].severity is Severity.WARN


@pytest.mark.parametrize(
    ("colour", "most"),
    [((255, 0, 0), 4.0), ((0, 255, 0), 4.0), ((0, 0, 255), 0.0), ((128, 0, 0), 4.0), ((119, 0, 0), 0.0)],
)
def test_colours_weigh_by_their_relative_luminance(colour: tuple[int, int, int], most: float) -> None:
    # 0.2126, 0.7152, 0.0722; half red 0.1067; red at 119/255 0.0992
    assert worst(square(4, 2), colour) == most


@pytest.mark.parametrize(
    ("first", "second", "most"),
    [
        # distances computed apart from the program: u′ = 4X/(X+15Y+3Z), v′ = 9Y/(X+15Y+3Z); red (0.4508, 0.5229),
        # green (0.1250, 0.5625), blue (0.1755, 0.1579), white (0.1978, 0.4683)
        (RED, WHITE, 4.0),  # 0.2588 apart
        (RED, (0, 255, 0), 4.0),  # 0.3282
        (RED, (0, 0, 255), 4.0),  # 0.4572
        (RED, (0, 0, 0), 4.0),  # darkness taken as white
        (RED, (255, 128, 0), 4.0),  # 0.2005
        (RED, (255, 127, 0), 0.5),  # 0.1999: only once, at the very first
        (RED, (255, 60, 0), 0.5),  # 0.1391
        ((204, 26, 25), (0, 255, 255), 4.0),  # a share of exactly 0.8, 0.2081 apart
        ((203, 26, 26), (0, 255, 255), 0.0),  # a share of 0.796, 0.2069 apart
        ((204, 0, 51), (0, 255, 0), 4.0),  # 0.8, 0.2911
        ((204, 51, 0), (0, 255, 0), 0.5),  # 0.8, 0.1842
        ((0, 255, 0), (0, 0, 255), 0.0),  # 0.4077, but no red
        (WHITE, (0, 0, 0), 0.0),
    ],
)
def test_red_flashes_are_pairs_of_changes_to_and_from_saturated_red(
    first: tuple[int, int, int], second: tuple[int, int, int], most: float
) -> None:
    assert worst_red(first, second) == pytest.approx(most)


def test_red_fails_as_white_does() -> None:
    assert findings([PANEL], [light(square(4, 4), len(PANEL), RED)])[1].severity is Severity.FAIL
    assert findings([PANEL], [light(square(3, 4), len(PANEL), RED)])[1].severity is Severity.PASS
    assert findings([STRIP], [light(square(4, 4), len(STRIP), RED)])[1].severity is Severity.WARN


def test_ten_degrees_and_the_exempt_quarter_of_them() -> None:
    # computed from the cone's solid angle; printed to five or six digits
    assert pytest.approx(0.023909, abs=5e-7) == cone_solid_angle(FIELD_ANGLE)
    assert cone_solid_angle(math.radians(10)) / 4 == pytest.approx(0.005977, abs=5e-7)
    assert FREE_AREA == 0.006


@pytest.mark.parametrize(("distance", "area"), [(2, 0.024), (3, 0.054), (5, 0.15), (10, 0.6)])
def test_the_exempt_area_at_a_distance(distance: float, area: float) -> None:
    assert area_at(FREE_AREA, distance) == pytest.approx(area)
