"""A look means what its author wrote: whole numbers stay close to the real ones."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from lampwright.look import Places, Program
from tests.look.conftest import FRAME_SECONDS, LAST_FRAME

TIMES = np.array([0, 1, 2, 39, 40, 777, 12_345, 35_999, LAST_FRAME])


def _ease(share: float) -> float:
    held = min(1.0, max(0.0, share))
    return held * held * (3 - 2 * held)


def _light_of(lightness: float) -> float:
    """CIE 1976: L* = 116 (Y/Yn)^(1/3) - 16 above 8, 903.3 Y/Yn below."""
    return ((lightness * 100 + 16) / 116) ** 3 if lightness > 0.08 else lightness * 100 / 903.3


# Each line: a look's value, and the same in plain Python of (along, x, height, seconds).
CASES: dict[str, Callable[[float, float, float, float], float]] = {
    "0.5 + 0.5 * sine(time / 7 + x)": lambda a, x, h, t: 0.5 + 0.5 * math.sin(2 * math.pi * (t / 7 + x)),
    "swell(along / 3 - time * 0.2)": lambda a, x, h, t: (1 - math.cos(2 * math.pi * (a / 3 - t * 0.2))) / 2,
    "fraction(time * 0.13 + 0.3)": lambda a, x, h, t: (t * 0.13 + 0.3) % 1,
    "ease(height - time / 300, 0.1, 1.9)": lambda a, x, h, t: _ease((h - t / 300 - 0.1) / 1.8),
    "clamp((along - 3) * (x - time / 500) + 0.4, 0, 1)": lambda a, x, h, t: (a - 3) * (x - t / 500) + 0.4,
    "abs(sine(time / 11)) * height / 2.6": lambda a, x, h, t: abs(math.sin(2 * math.pi * t / 11)) * h / 2.6,
    "1 / (1 + along + time / 100)": lambda a, x, h, t: 1 / (1 + a + t / 100),
    "choose(height > 1.3, 0.25, 0.75) * min(time / 900, 0.8)": lambda a, x, h, t: (
        (0.25 if h > 1.3 else 0.75) * min(t / 900, 0.8)
    ),
    "mix(0.1, 0.9, swell(time / 60)) - max(x, 0) / 20": lambda a, x, h, t: (
        0.1 + 0.8 * (1 - math.cos(2 * math.pi * t / 60)) / 2 - max(x, 0) / 20
    ),
    "seen(height / 2.6)": lambda a, x, h, t: ((h / 0.026 + 16) / 116) ** 3 if h > 0.208 else h / 2.6 / 9.03,
    "seen(swell(time / 50))": lambda a, x, h, t: _light_of((1 - math.cos(2 * math.pi * t / 50)) / 2),
    "floor(time / 90) / 10": lambda a, x, h, t: math.floor(t / 90 + 1e-9) / 10,
    "choose(0.2 < height < 2 and not (x > 0.5 or time > 400), 1, 0.5)": lambda a, x, h, t: (
        1 if 0.2 < h < 2 and not (x > 0.5 or t > 400) else 0.5
    ),
}


@pytest.mark.parametrize("text", CASES)
def test_a_value_comes_out_within_two_codes_of_the_real_one(
    text: str, compiled: Callable[..., Program], places: Places
) -> None:
    codes = compiled(f"level = {text}\ncolour = light(level, level, level)").frames(TIMES)[:, :, 0]
    for row, frame in enumerate(TIMES):
        for pixel in range(places.n_pixel):
            x, height = places.xyz[pixel, 0], places.xyz[pixel, 2]
            real = CASES[text](places.along[pixel], x, height, frame * FRAME_SECONDS)
            meant = 255 * min(1.0, max(0.0, real))
            assert abs(int(codes[row, pixel]) - meant) <= 2, (frame, pixel)


def test_turns_lose_nothing_over_a_night(compiled: Callable[..., Program]) -> None:
    night = round(12 * 3600 / FRAME_SECONDS)
    program = compiled("level = swell(time * 0.1)\ncolour = light(level, level, level)", last_frame=night)
    whole_turns = np.arange(0, night, 400)
    half_turns = whole_turns[:-1] + 200
    assert program.frames(whole_turns)[:, 0, 0].max() <= 1
    assert program.frames(half_turns)[:, 0, 0].min() >= 254


def test_moments_and_fractions_of_one_place_turn_over_together(compiled: Callable[..., Program]) -> None:
    text = "turns = time * 0.37 + dice(1)\nstep = floor(turns)\npart = fraction(turns)\n"
    program = compiled(text + "colour = light(step / 400, part, 0)")
    codes = program.frames(np.arange(0, 4000)).astype(int)
    wraps = np.diff(codes[:, :, 1], axis=0) < -128
    steps = np.diff(codes[:, :, 0], axis=0)
    assert wraps.any()
    assert (steps[~wraps] == 0).mean() > 0.999  # a step of 1/400 shows in every second code or so
    assert (steps >= 0).all()


def test_dice_are_steady_and_differ_between_pixels_and_circuits(compiled: Callable[..., Program]) -> None:
    codes = compiled("colour = light(dice(1), dice(2), dice(1, time * 4))").frames(np.arange(0, 2000))
    assert (codes[:, :, :2] == codes[0, :, :2]).all()
    assert len({tuple(c) for c in codes[0, :, :2]}) == codes.shape[1]
    assert abs(codes[:, :, 2].mean() - 127.5) < 4
    assert abs(codes[:, :, 2].std() - 255 / math.sqrt(12)) < 4


def test_noise_moves_smoothly_and_fills_its_range(compiled: Callable[..., Program]) -> None:
    program = compiled("a = noise(along * 4, time * 0.5)\nb = noise(time * 0.5 + along)\ncolour = light(a, b, 0)")
    codes = program.frames(np.arange(0, 20_000)).astype(int)
    for channel in (0, 1):
        assert np.abs(np.diff(codes[:, :, channel], axis=0)).max() <= 7
        assert codes[:, :, channel].min() < 30
        assert codes[:, :, channel].max() > 225


def test_a_gradient_meets_its_stops_and_runs_straight_between(compiled: Callable[..., Program]) -> None:
    program = compiled('colour = gradient(time / 100, "#ff0000", "#0000ff", "#00ff00")', last_frame=4000)
    codes = program.frames(np.array([0, 1000, 2000, 3000, 4000]))[:, 0].astype(int)
    meant = [(255, 0, 0), (127.5, 0, 127.5), (0, 0, 255), (0, 127.5, 127.5), (0, 255, 0)]
    assert np.abs(codes - np.array(meant)).max() <= 1.5


def test_brightness_scales_all_and_no_code_exceeds_it(compiled: Callable[..., Program]) -> None:
    text = "colour = light(2 * swell(time), swell(time), 0.5)"
    full, dim = (compiled(text, brightness).frames(np.arange(0, 400)) for brightness in (1.0, 0.4))
    assert dim.max() == 102
    assert np.abs(full[:, :, 1] * 0.4 - dim[:, :, 1]).max() <= 1


def test_pixels_sections_and_members_are_told_apart(compiled: Callable[..., Program]) -> None:
    text = "colour = light(pixel / pixels, section / 10, member / 10)"
    codes = compiled(text).frames(np.array([0]))[0].astype(int)
    n_pixel = len(codes)
    assert np.abs(codes[:, 0] - 255 * np.arange(n_pixel) / n_pixel).max() <= 1
    assert set(codes[:20, 1]) == {0}
    assert set(codes[20:, 1]) == {26}
    assert [int(c) for c in codes[::10, 2]] == [0, 26, 51, 76]


def test_the_wheel_of_hues_keeps_the_current_the_same(compiled: Callable[..., Program]) -> None:
    codes = compiled("colour = hue(time / 100)", last_frame=4000).frames(np.arange(0, 4001, 40))[:, 0].astype(int)
    assert np.abs(codes.sum(axis=1) - 255).max() <= 3
    assert codes[0].tolist() == [255, 0, 0]
    assert np.abs(codes[50] - [0, 128, 128]).max() <= 2


def test_noise_of_three_places_moves_smoothly_in_each(compiled: Callable[..., Program]) -> None:
    program = compiled("a = noise(along * 4, height * 2, time * 0.5)\ncolour = light(a, a, a)")
    codes = program.frames(np.arange(0, 20_000))[:, :, 0].astype(int)
    assert np.abs(np.diff(codes, axis=0)).max() <= 7
    assert codes.min() < 40
    assert codes.max() > 215


def test_a_dark_colour_beside_a_moving_one_is_taken(compiled: Callable[..., Program]) -> None:
    codes = compiled('colour = "#030510" + "#ff8000" * swell(time / 9)').frames(np.array([0, 180]))
    assert codes[0].max() <= 2
    assert codes[1].max() == 255


def test_an_ease_of_something_very_large_goes_from_dark_to_bright(compiled: Callable[..., Program]) -> None:
    text = "far = time * 1000000\nlevel = ease(far, 0.2, 1.5)\ncolour = light(level, level, level)"
    codes = compiled(text).frames(np.array([0, 400]))
    assert codes[0].max() == 0
    assert codes[1].min() >= 254


def test_a_share_of_all_pixels_goes_evenly_from_one_to_the_next(compiled: Callable[..., Program]) -> None:
    codes = compiled("colour = light(fraction(time / pixels), 0, 0)").frames(np.arange(0, 1480, 40))[:, 0, 0]
    assert np.abs(codes - 255 * np.arange(37) / 37).max() <= 1


def test_a_gradient_of_changing_colours_meets_its_stops(compiled: Callable[..., Program]) -> None:
    text = "red = light(swell(time / 50), 0, 0)\ncolour = gradient(along / 6, red, red * 0.5, light(0, 1, 0))"
    codes = compiled(text).frames(np.array([0, 1000])).astype(int)
    assert codes[0, :18].max() <= 1
    assert np.abs(codes[1, [0, 18, 36]] - [[255, 0, 0], [128, 0, 0], [0, 255, 0]]).max() <= 3
