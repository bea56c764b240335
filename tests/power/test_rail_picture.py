"""A picture that shows white where red comes out is worse than none."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from lampwright.power import draw_worst_moment, gather_rails, rail_part, rail_picture, ready_rails, worst_moment
from lampwright.power.rail_picture import BAR, BETWEEN, HEAD, LEFT, PANEL, RIGHT, WIDTH, WorstMoment
from lampwright.show.model import CircuitShow
from lampwright.show.render import Block

BuildShow = Callable[..., CircuitShow]


def moment_of(show: CircuitShow, level: int, monkeypatch: pytest.MonkeyPatch) -> WorstMoment:
    """Return the worst moment of a show that is grey throughout but for one brighter frame."""
    frames = np.full((4, show.n_pixel, 3), 2, np.uint8)
    frames[1] = level
    none = np.zeros(1, dtype=np.int64)
    monkeypatch.setattr(rail_picture, "render", lambda _, at, n: Block(at, frames[at : at + n], none, none))
    rails = ready_rails(show.layout)
    return worst_moment(show, gather_rails(show, rails, [rail_part(rails, frames)]))


def pixels(path: Path, row: int) -> np.ndarray:
    """Return the colours along a row of the picture, within the bars."""
    with Image.open(path) as image:
        return np.asarray(image.convert("RGB"))[row, LEFT + 2 : WIDTH - RIGHT - 2].astype(int)


def test_what_comes_out_turns_red_along_a_run_that_sags(
    show_of: BuildShow, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    show = show_of(200)
    moment = moment_of(show, 40, monkeypatch)
    assert moment.time == pytest.approx(0.025)
    assert moment.least_kept < 0.9
    draw_worst_moment(show.layout, moment, tmp_path / "moment.png")
    with Image.open(tmp_path / "moment.png") as image:
        assert image.size == (WIDTH, HEAD + PANEL)
    sent = pixels(tmp_path / "moment.png", HEAD + 24 + BAR // 2)
    out = pixels(tmp_path / "moment.png", HEAD + 24 + BAR + BETWEEN + BAR // 2)
    assert (sent == 255).all()  # the brightest is shown full
    assert (out[0] == 255).all()  # by the feed nothing is lost
    red, green, blue = out[-3]
    assert red > green + 20
    assert red > blue + 20


def test_a_run_that_holds_shows_what_was_sent(
    show_of: BuildShow, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    show = show_of(60)
    moment = moment_of(show, 20, monkeypatch)
    assert moment.least_kept == 1.0
    draw_worst_moment(show.layout, moment, tmp_path / "moment.png")
    sent, out = (pixels(tmp_path / "moment.png", HEAD + 24 + BAR // 2 + down) for down in (0, BAR + BETWEEN))
    assert (sent == out).all()


def test_a_dark_show_can_be_drawn(show_of: BuildShow, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    show = show_of(1)
    draw_worst_moment(show.layout, moment_of(show, 0, monkeypatch), tmp_path / "moment.png")
    assert (tmp_path / "moment.png").exists()
