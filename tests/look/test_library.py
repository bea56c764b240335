"""The library: every look fits a chip, takes every setting it offers, and is as its page says."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from lampwright.look import Change, CueTime, Look, Places, Program, Setting, compile_look, read_look, settle
from lampwright.look.build import FUNCTIONS, INPUTS
from lampwright.look.run import evaluate, in_order
from lampwright.show.compile import library_names, library_text

PAGE = (Path(__file__).parents[2] / "docs" / "looks.md").read_text(encoding="utf-8")
NAMES = library_names()
LOOKS = [name for name in NAMES if not name.startswith("bench-")]

N_PIXEL = 300
FRAME_SECONDS = 0.025
MINUTE = np.arange(0, 2400)
LAST_FRAME = 72_000
"""Half an hour: as long as a cue gets."""
HERE_AND_THERE = np.arange(0, LAST_FRAME, 97)


@pytest.fixture(scope="module")
def places() -> Places:
    """Three hundred pixels, 60 a metre, up one side of a tall hoop and down the other, the second circuit."""
    along = (np.arange(N_PIXEL) + 0.5) / 60
    turn = along / 5 * np.pi
    return Places(along, np.c_[1.6 * np.cos(turn), 2 + along * 0.02, 1.6 * np.sin(turn)], 1)


def read(name: str) -> Look:
    return read_look(library_text(name), name, name)


def compiled(name: str, places: Places, **given: float | str) -> Program:
    look = read(name)
    return compile_look(look, settle(look, given, {}), places, FRAME_SECONDS, LAST_FRAME, 1.0)


def piece_light(codes: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Return the mean light of all pixels (n_frame,), 0 to 1; weights of linear sRGB (IEC 61966-2-1:1999)."""
    return np.asarray(codes.mean(axis=1) @ np.array([0.2126, 0.7152, 0.0722]) / 255)


def most_flashes_in_a_second(light: NDArray[np.float64]) -> int:
    """Return the most rises of a tenth or more from a darker state below 0.8, within any second.

    Source: WCAG 2.2, definition of "general flash and red flash thresholds": a pair of opposing
    changes of relative luminance of 10 % or more of the maximum, the darker below 0.80. Counted
    more strictly here: a rise alone, without its fall.
    """
    rises, low, high, is_rising = [], light[0], light[0], False
    for frame, now in enumerate(light):
        if is_rising:
            high = max(high, now)
            if now <= high - 0.1:
                is_rising, low = False, now
        else:
            low = min(low, now)
            if now >= low + 0.1 and low < 0.8:
                is_rising, high = True, now
                rises.append(frame)
    second = round(1 / FRAME_SECONDS)
    return max((sum(first <= r < first + second for r in rises) for first in rises), default=0)


def test_there_are_looks_enough_for_an_evening() -> None:
    assert len(LOOKS) >= 18
    assert len(NAMES) - len(LOOKS) >= 4


@pytest.mark.parametrize("name", NAMES)
def test_a_look_says_what_it_is_and_what_each_setting_does(name: str) -> None:
    look = read(name)
    assert re.fullmatch("[a-z]+-[a-z]+", name)
    assert look.title.startswith(name.replace("-", " ").capitalize() + ": ")
    assert look.title.endswith(".")
    for setting in look.settings.values():
        assert len(setting.help) > 8, setting.name
        assert setting.name not in INPUTS
        assert setting.is_colour or setting.least < setting.most


@pytest.mark.parametrize("name", NAMES)
def test_a_look_takes_every_setting_at_both_ends_and_stays_alight(name: str, places: Places) -> None:
    for setting in read(name).settings.values():
        ends = ("#000000", "#ffffff") if setting.is_colour else (setting.least, setting.most)
        for end in ends:
            codes = compiled(name, places, **{setting.name: end}).frames(HERE_AND_THERE)
            may_be_dark = setting.is_colour or (setting.least == 0 and end == 0)
            assert may_be_dark or codes.max() >= 5, (setting.name, end)


@pytest.mark.parametrize("name", LOOKS)
def test_a_look_is_neither_black_nor_a_floodlight(name: str, places: Places) -> None:
    light = piece_light(compiled(name, places).frames(MINUTE))
    assert 0.005 < light.mean() < 0.4
    assert light.max() < 0.9


@pytest.mark.parametrize("name", LOOKS)
def test_no_setting_makes_the_piece_flash_more_than_three_times_a_second(name: str, places: Places) -> None:
    for setting in read(name).settings.values():
        if not setting.is_colour:
            for end in (setting.least, setting.most):
                light = piece_light(compiled(name, places, **{setting.name: end}).frames(MINUTE))
                assert most_flashes_in_a_second(light) <= 3, (setting.name, end)


@pytest.mark.parametrize("name", LOOKS)
def test_hardly_a_pixel_flashes_more_than_three_times_a_second(name: str, places: Places) -> None:
    codes = compiled(name, places).frames(MINUTE) @ np.array([0.2126, 0.7152, 0.0722]) / 255
    hasty = sum(most_flashes_in_a_second(codes[:, pixel]) > 3 for pixel in range(0, N_PIXEL, 10))
    assert hasty == 0


def test_flashes_are_counted() -> None:
    time = np.arange(0, 400) * FRAME_SECONDS
    for rate in (1, 2, 3, 4, 5):
        assert most_flashes_in_a_second((np.sin(2 * np.pi * rate * time - 1.6) + 1) / 2) == rate
    assert most_flashes_in_a_second(0.5 + 0.04 * np.sin(time * 40)) == 0


def test_a_meter_reads_the_level_that_was_asked_for(places: Places) -> None:
    codes = compiled("bench-level", places, level=0.5, shown="#ff0000").frames(MINUTE[:3])
    assert (codes == [128, 0, 0]).all()


def test_every_tenth_pixel_is_marked_and_no_other(places: Places) -> None:
    lit = compiled("bench-tenths", places).frames(MINUTE[:1])[0]
    assert np.flatnonzero(lit.any(axis=1)).tolist() == list(range(0, N_PIXEL, 10))
    assert np.flatnonzero(lit.any(axis=1) & (lit[:, 2] == 0)).tolist() == [0, 100, 200]


@pytest.mark.parametrize(("n_pixel", "marked"), [(300, [0, 150, 299]), (7, [0, 3, 6]), (2, [0, 1]), (1, [0])])
def test_first_middle_and_last_pixel_are_marked(n_pixel: int, marked: list[int]) -> None:
    strip = Places(np.arange(n_pixel) / 60, np.zeros((n_pixel, 3)), 0)
    lit = compiled("bench-ends", strip).frames(MINUTE[:1])[0]
    assert np.flatnonzero(lit.any(axis=1)).tolist() == marked
    assert lit[0].tolist() == [0, 76, 0]


def test_exactly_one_pixel_walks_and_none_is_left_out(places: Places) -> None:
    lit = compiled("bench-walk", places, pace=20).frames(np.arange(0, 2 * N_PIXEL * 2)).any(axis=2)
    assert (lit.sum(axis=1) == 1).all()
    assert set(np.diff(lit.argmax(axis=1)).tolist()) == {0, 1, 1 - N_PIXEL}


def _change(setting: Setting, *, is_upward: bool) -> Change:
    ends = ("#000000", "#ffffff") if setting.is_colour else (setting.least, setting.most)
    return Change(*(ends if is_upward else ends[::-1]))


@pytest.mark.parametrize("is_upward", [True, False], ids=["up", "down"])
@pytest.mark.parametrize("name", NAMES)
def test_any_setting_and_all_of_them_together_can_go_from_end_to_end_in_a_cue(
    name: str, is_upward: bool, places: Places
) -> None:
    look = read_look(library_text(name), name, name)
    changes = {key: _change(setting, is_upward=is_upward) for key, setting in look.settings.items()}
    cue = CueTime(20.0)
    for moving in (*({key: change} for key, change in changes.items()), changes):
        settings = settle(look, moving, {})
        program = compile_look(look, settings, places, FRAME_SECONDS, 900, 1.0, cue)
        for node, values in evaluate(in_order(program.codes), np.arange(0, 901, 50)).items():
            assert node.low <= values.min() <= values.max() <= node.high, moving


def documented(column: str) -> set[str]:
    """Return the names in the first column of the page's tables, each with what is behind it."""
    return set(re.findall(rf"^\| `([a-z0-9]+){column}", PAGE, re.MULTILINE))


def test_the_page_tells_every_function_and_no_other() -> None:
    assert documented(r"\(") == set(FUNCTIONS)


def test_the_page_tells_every_input() -> None:
    assert set(INPUTS) <= documented("`")


@pytest.mark.parametrize("example", re.findall(r"```python\n(.*?)```", PAGE, re.DOTALL))
def test_what_the_page_shows_can_be_tried(example: str, places: Places) -> None:
    look = read_look(example, "example", "looks.md")
    codes = compile_look(look, settle(look, {}, {}), places, FRAME_SECONDS, LAST_FRAME, 1.0).frames(MINUTE)
    assert codes.max() > 20
