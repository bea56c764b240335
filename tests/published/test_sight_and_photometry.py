"""How bright a lit strip looks: our short formulas against integrals, and against constants of an outside library.

scipy (PyPI), 1.17: ``scipy.constants.arcminute``; ``scipy.integrate`` for the photometric law of distance and for the
light that leaves a matt ground (Lambert), both as in any text on photometry.

Not looked up, and marked so in ``seen.toml`` and docs/propose.md: one minute of arc as the acuity of a normal eye (the
stroke of a 6/6 letter), and the lighting classes of EN 13201-2:2015, here as remembered, P1 to P6 by illuminance and
M1 to M6 by luminance.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import constants, integrate

from lampwright.parts import Strip, find
from lampwright.propose.seen import ARC_MINUTE, PIXEL_WIDTH, as_seen, intensities, surroundings_luminance

P_CLASSES = {"P1": 15.0, "P2": 10.0, "P3": 7.5, "P4": 5.0, "P5": 3.0, "P6": 2.0}  # mean, lx (from memory)
M_CLASSES = {"M1": 2.0, "M2": 1.5, "M3": 1.0, "M4": 0.75, "M5": 0.5, "M6": 0.3}  # mean, cd/m² (from memory)
WHITE = (1.0, 1.0, 1.0)


def test_a_minute_of_arc_is_the_librarys() -> None:
    assert pytest.approx(constants.arcminute, rel=1e-15) == ARC_MINUTE


def test_the_stroke_of_a_six_over_six_letter_is_where_pixels_merge() -> None:
    # a letter read at 6 m by a normal eye is 8.73 mm high, its strokes a fifth of that (from memory)
    stroke = 8.73e-3 / 5
    assert as_seen(find(Strip, "ws2812b-30"), WHITE, 6.0, "dark park").apart > ARC_MINUTE
    assert stroke / ARC_MINUTE == pytest.approx(6.0, rel=1e-3)


@pytest.mark.parametrize("name", ["ws2812b-30", "ws2812b-60", "ws2812b-144"])
def test_pixels_merge_where_the_true_angle_between_them_is_a_minute(name: str) -> None:
    seen = as_seen(find(Strip, name), WHITE, 10.0, "dark park")
    pitch = 1 / find(Strip, name).density.value
    assert 2 * math.atan2(pitch / 2, seen.merges_from) == pytest.approx(constants.arcminute, rel=1e-7)


def test_a_matt_ground_gives_back_the_light_that_falls_on_it() -> None:
    # all that leaves ground of luminance L is the integral of L cos over the half space: E r
    luminance = surroundings_luminance("dark park")
    leaving, _ = integrate.dblquad(lambda t, _: luminance * math.cos(t) * math.sin(t), 0, 2 * math.pi, 0, math.pi / 2)
    assert leaving == pytest.approx(P_CLASSES["P6"] * 0.1, rel=1e-9)


def test_the_surroundings_are_the_classes_that_they_say() -> None:
    assert surroundings_luminance("lit street") == M_CLASSES["M3"]
    assert surroundings_luminance("dark park") == pytest.approx(min(P_CLASSES.values()) * 0.1 / math.pi)


@pytest.mark.parametrize("distance", [5.0, 60.0, 150.0])
def test_the_line_sends_as_much_light_to_the_eye_as_its_pixels_do(distance: float) -> None:
    # a metre of strip, square to the line of sight: each pixel by I cos/d², the line by its luminance over its width
    strip = find(Strip, "ws2812b-60")
    seen = as_seen(strip, WHITE, distance, "dark park")
    places = (np.arange(60) + 0.5) / 60 - 0.5
    of_pixels = sum(sum(intensities(strip)) * distance / math.hypot(distance, place) ** 3 for place in places)
    width = max(PIXEL_WIDTH, distance * constants.arcminute)
    of_line, _ = integrate.quad(lambda x: seen.luminance * width * distance / math.hypot(distance, x) ** 3, -0.5, 0.5)
    assert of_line == pytest.approx(of_pixels, rel=1e-4)
