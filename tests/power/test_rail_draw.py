"""A wire or a fuse chosen by an average that the show never has would heat or blow."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from lampwright.piece.model import Ending
from lampwright.power.rail_draw import SUSTAINED, sustained
from lampwright.show.model import CircuitShow

BuildShow = Callable[..., CircuitShow]


def lasting(show: CircuitShow, flows: list[float]) -> float:
    """Return the lasting current of a wire that carries these, one a second. [A]"""
    return float(sustained(np.array(flows, np.float32)[:, None], show)[0])


def test_a_longer_standby_never_lowers_what_the_fuse_is_chosen_by(show_of: BuildShow) -> None:
    shown = [0.2, 1.8, 1.8, 0.1] * 100
    found = []
    for standby in (0, 60, 600, 1800):
        show = show_of(standby_frames=standby, pass_frames=400, frame_ms=1000)
        found.append(lasting(show, [0.1] * standby + shown))
    assert found == [pytest.approx(found[0])] * 4
    assert found[0] == pytest.approx(np.sqrt((0.2**2 + 2 * 1.8**2 + 0.1**2) / 4), rel=1e-6)


@pytest.mark.parametrize("seed", range(60))
def test_no_standby_that_grows_lowers_it(show_of: BuildShow, seed: int) -> None:
    dice = np.random.default_rng(seed)
    standby, longer, n = (int(each) for each in dice.integers((0, 1, 1), (300, 300, 500)))
    shown, before = list(dice.uniform(0, 3, n)), list(dice.uniform(0, 3, standby))
    ending = (Ending.REPEAT, Ending.HOLD, Ending.DARK)[seed % 3]
    short = show_of(standby_frames=standby, pass_frames=n, frame_ms=1000, ending=ending)
    long = show_of(standby_frames=standby + longer, pass_frames=n, frame_ms=1000, ending=ending)
    # the countdown's end stays as it was, and its beginning shows more minutes, never fewer
    first = [max(before, default=0.0)] * longer
    assert lasting(long, first + before + shown) >= lasting(short, before + shown) * (1 - 1e-6)


def test_three_bright_minutes_count_however_dark_the_rest_is(show_of: BuildShow) -> None:
    bright = round(SUSTAINED)
    show = show_of(pass_frames=3600, frame_ms=1000)
    assert lasting(show, [0.1] * 1000 + [2.0] * bright + [0.1] * (2600 - bright)) == pytest.approx(2.0)


def test_a_frame_that_is_held_lasts(show_of: BuildShow) -> None:
    flows = [0.1] * 3599 + [2.0]
    held = show_of(pass_frames=3600, frame_ms=1000, ending=Ending.HOLD)
    dark = show_of(pass_frames=3600, frame_ms=1000, ending=Ending.DARK)
    assert lasting(held, flows) == pytest.approx(2.0)
    assert lasting(dark, flows) < 0.2


def test_a_bright_end_goes_on_into_the_repeats_bright_beginning(show_of: BuildShow) -> None:
    half = round(SUSTAINED / 2)
    flows = [2.0] * half + [0.1] * 3000 + [2.0] * half
    show = show_of(pass_frames=len(flows), frame_ms=1000, ending=Ending.REPEAT)
    assert lasting(show, flows) == pytest.approx(2.0)
