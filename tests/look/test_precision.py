"""A maker is told truly what the chip's whole numbers lose."""

from __future__ import annotations

import numpy as np
import pytest

from lampwright.look import Drive, Places, Precision, measure_precision, read_look, settle
from lampwright.look.intervals import Intervals
from lampwright.look.program import lower_look
from lampwright.look.steady import evaluate_at
from lampwright.units import MakerError
from tests.look.conftest import FRAME_SECONDS, LAST_FRAME
from tests.look.random_looks import random_look


def _measured(text: str, places: Places) -> dict[str, Precision]:
    look = read_look(text, "test", "test.look")
    rows = measure_precision(look, settle(look, {}, {}), places, FRAME_SECONDS, LAST_FRAME, Drive(1.0))
    return {row.name: row for row in rows}


def test_a_code_that_is_only_rounded_is_off_by_half_a_step_at_most(places: Places) -> None:
    measured = _measured("colour = light(along / 6, 0.5, 1)", places)
    assert measured["red code"].worst <= 0.5
    assert measured["green code"].worst == pytest.approx(0.5)  # 127.5 lies between two codes
    assert measured["blue code"].worst == 0


def test_a_wave_is_as_precise_as_its_table(places: Places) -> None:
    wave = _measured("level = swell(time / 8)\ncolour = light(level, level, level)", places)["level"]
    assert (wave.bits, wave.step) == (16, 2.0**-13)
    assert 0 <= wave.low <= wave.high <= 1 + wave.step
    assert wave.worst <= 2 * wave.step  # the phase's own rounding, and the table's


def test_a_coarse_value_is_told_to_be_coarse(places: Places) -> None:
    text = "far = along * time * 20\ncolour = light(min(far, 90000) / 100000, 0, 0)"
    far = _measured(text, places)["far"]
    assert far.step >= 2
    assert far.worst >= far.step / 2


def test_a_jump_shows_in_the_worst_error_and_not_in_the_usual(places: Places) -> None:
    text = "level = choose(swell(time / 7 + along) < 0.5, 1, 0)\ncolour = light(level, level, level)"
    level = _measured(text, places)["level"]
    assert level.usual == 0
    assert level.worst in {0, 1}


@pytest.mark.parametrize("seed", range(60))
def test_no_real_value_leaves_the_interval_that_its_scale_was_chosen_for(seed: int, places: Places) -> None:
    look = read_look(random_look(seed), "random", "random.look")
    try:
        lowered = lower_look(look, settle(look, {}, {}), places, FRAME_SECONDS, LAST_FRAME, 1.0)
    except MakerError:
        return
    frames = np.random.default_rng(seed).integers(0, LAST_FRAME + 1, 40)
    nodes = [*lowered.channels, *(node for _, node, _ in lowered.lowering.scales())]
    intervals = Intervals(places, LAST_FRAME * FRAME_SECONDS)
    for node, real in zip(nodes, evaluate_at(nodes, places, frames * FRAME_SECONDS), strict=True):
        low, high = intervals.of(node)
        slack = 1e-9 + 2.0**-13 + 1e-9 * max(abs(low), abs(high))  # the last value of a curve's table
        assert low - slack <= real.min() <= real.max() <= high + slack, random_look(seed)
