"""Every frame follows the written rules of the show; a second, slow reading of them agrees."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from lampwright.show import CircuitShow, frames_at, line_bytes, render

ShowMaker = Callable[..., CircuitShow]


def _frame_by_the_rules(show: CircuitShow, k: int) -> list[list[int]]:
    """Return one frame as the text in show/model.py says it, number by number."""
    dark = [[0, 0, 0] for _ in range(show.n_pixel)]
    if k < show.standby_frames:
        pixels = dark
        left = math.ceil((show.standby_frames - k) * show.frame_ms / 60000)
        if (k * show.frame_ms) % 1000 < 500:
            for pixel in show.indicator.pixels[:left]:
                pixels[pixel] = list(show.indicator.code)
    else:
        pixels = _show_by_the_rules(show, k - show.standby_frames, dark)
    load = sum(sum(p[c] for p in pixels) * show.limiter.weights[c] for c in range(3))
    if load > show.limiter.cap:
        scale = show.limiter.cap // ((load >> 8) + 1)
        pixels = [[(code * scale) >> 8 for code in p] for p in pixels]
    return pixels


def _show_by_the_rules(show: CircuitShow, n: int, dark: list[list[int]]) -> list[list[int]]:
    passes, r = divmod(n, show.pass_frames)
    if passes and show.ending.value == "dark":
        return dark
    if passes and show.ending.value == "hold":
        passes, r = 0, show.pass_frames - 1
    index = max(i for i, cue in enumerate(show.cues) if cue.start <= r)
    cue, t = show.cues[index], r - show.cues[index].start
    new = cue.program.frames(np.array([t]))[0].tolist()
    if t >= cue.fade:
        return new
    old = dark
    if index > 0 or passes > 0:
        before = show.cues[index - 1]
        old = before.program.frames(np.array([before.length + t]))[0].tolist()
    w = t * 256 // cue.fade
    return [[o + (((n - o) * w) >> 8) for o, n in zip(po, pn, strict=True)] for po, pn in zip(old, new, strict=True)]


@pytest.mark.parametrize("ending", ["repeat", "hold", "dark"])
def test_every_kind_of_frame_follows_the_rules(small_show: ShowMaker, ending: str) -> None:
    show = small_show(ending=ending, circuit='current_cap = "0.2 A"', brightness="80 %")
    border, one_pass = show.standby_frames, show.pass_frames
    moments = [0, 1, 19, 20, 39, 40, border - 1, border, border + 1, border + 39, border + 40, border + 159]
    moments += [border + 160, border + 200, border + 239, border + 240, border + one_pass - 1]
    moments += [border + one_pass + step for step in (0, 1, 20, 39, 40, 200, 5 * one_pass + 7)]
    for k in moments:
        assert render(show, k, 1).codes[0].tolist() == _frame_by_the_rules(show, k), k


def test_blocks_of_any_size_hold_the_same_frames(small_show: ShowMaker) -> None:
    show = small_show()
    first = show.standby_frames - 50
    whole = render(show, first, 500).codes
    for size in (1, 7, 499):
        parts = [render(show, first + a, min(size, 500 - a)).codes for a in range(0, 500, size)]
        np.testing.assert_array_equal(np.concatenate(parts), whole)


def test_the_limiter_never_lets_a_frame_exceed_the_cap(small_show: ShowMaker) -> None:
    show = small_show(circuit='current_cap = "0.12 A"', brightness="100 %")
    block = render(show, show.standby_frames, 2 * show.pass_frames)
    strip, board = show.layout.circuit.strip, show.layout.circuit.board
    dark = board.current.value + show.n_pixel * strip.quiescent_current.value
    channel = np.array([strip.red_current.value, strip.green_current.value, strip.blue_current.value])
    current = dark + block.codes.sum(axis=1) @ channel / 255
    assert (block.scale < 256).any()
    assert current.max() <= 0.12 + 1e-9
    assert current[block.scale < 256].min() > 0.11


def test_the_line_carries_the_strips_own_colour_order(small_show: ShowMaker) -> None:
    show = small_show()
    codes = render(show, show.standby_frames + 100, 1).codes
    assert show.channel_order == (1, 0, 2)
    sent = line_bytes(show, codes)[0].reshape(-1, 3)
    np.testing.assert_array_equal(sent, codes[0][:, [1, 0, 2]])


def test_the_countdown_goes_from_minute_to_minute(small_show: ShowMaker) -> None:
    show = small_show(standby="3 min", every="2")
    lit = (render(show, 0, show.standby_frames).codes.max(axis=2) > 0).sum(axis=1)
    by_second = lit.reshape(180, 40)
    assert by_second[:, 20:].max() == 0
    assert [set(by_second[a : a + 60, :20].flat) for a in (0, 60, 120)] == [{3}, {2}, {1}]


@pytest.mark.parametrize("ending", ["repeat", "hold", "dark"])
def test_frames_in_any_order_are_those_that_are_drawn_one_by_one(small_show: ShowMaker, ending: str) -> None:
    show = small_show(ending=ending, circuit='current_cap = "0.2 A"', brightness="80 %")
    border, one_pass = show.standby_frames, show.pass_frames
    numbers = [border + 200, 3, border + one_pass + 20, border - 1, border, 3, border + 7, border + 3 * one_pass + 170]
    one_by_one = np.concatenate([render(show, number, 1).codes for number in numbers])
    np.testing.assert_array_equal(frames_at(show, numbers), one_by_one)
