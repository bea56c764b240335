"""A film plays at the show's own speed, and none that may flash starts without being asked for."""

from __future__ import annotations

import sys
from pathlib import Path

import av
import numpy as np
import pytest
from PIL import Image, ImageSequence

from lampwright.page.backdrop import Light
from lampwright.page.camera import Stand
from lampwright.page.film import NOTICE_SECONDS, Film, film_frames, write_gif, write_mp4
from lampwright.page.still import Painter, Sight
from lampwright.piece.model import Piece
from lampwright.show import CircuitShow
from lampwright.units import MakerError


@pytest.fixture(scope="module")
def painter(frost_gate: Piece, shows: tuple[CircuitShow, ...]) -> Painter:
    return Painter(frost_gate, shows, Sight(Stand.IN_FRONT, Light.DUSK, 160, 90))


def chosen(shows: tuple[CircuitShow, ...], count: int) -> range:
    first = shows[0].standby_frames + 400
    return range(first, first + count)


def nothing(_done: int) -> None:
    pass


def test_a_gif_lasts_as_long_as_its_stretch(painter: Painter, shows: tuple[CircuitShow, ...], tmp_path: Path) -> None:
    heard: list[int] = []
    write_gif(tmp_path / "gate.gif", painter, Film(chosen(shows, 55), 33, may_flash=False), heard.append)
    with Image.open(tmp_path / "gate.gif") as film:
        delays = [picture.info["duration"] for picture in ImageSequence.Iterator(film)]
        assert film.info["loop"] == 0 if sum(delays) >= 2000 else "loop" not in film.info
        shown = np.asarray(film.convert("RGB")).astype(int)
    assert sum(delays) == round(55 * 33, -1)
    assert set(delays) <= {30, 40}
    assert heard == list(range(1, 56))
    exact = np.asarray(painter.paint(chosen(shows, 55)[-1])).astype(int)
    assert np.abs(shown - exact).mean() < 6, "256 colours are near enough"


def test_an_mp4_holds_every_frame_at_the_shows_rate(
    painter: Painter, shows: tuple[CircuitShow, ...], tmp_path: Path
) -> None:
    write_mp4(tmp_path / "gate.mp4", painter, Film(chosen(shows, 12), 40, may_flash=False), nothing)
    with av.open(tmp_path / "gate.mp4") as film:
        assert film.streams.video[0].average_rate == 25
        pictures = [picture.to_ndarray(format="rgb24") for picture in film.decode(video=0)]
    assert len(pictures) == 12
    exact = np.asarray(painter.paint(chosen(shows, 12)[5])).astype(int)
    assert np.abs(pictures[5].astype(int) - exact).mean() < 4


def test_a_film_that_may_flash_begins_with_its_notice_and_does_not_start_over(
    painter: Painter, shows: tuple[CircuitShow, ...], tmp_path: Path
) -> None:
    flashing = Film(chosen(shows, 60), 40, may_flash=True)
    write_gif(tmp_path / "gate.gif", painter, flashing, nothing)
    with Image.open(tmp_path / "gate.gif") as gif:
        assert gif.info["duration"] == NOTICE_SECONDS * 1000
        assert "loop" not in gif.info
        assert gif.n_frames == 61
    write_mp4(tmp_path / "gate.mp4", painter, flashing, nothing)
    with av.open(tmp_path / "gate.mp4") as film:
        pictures = [picture.to_ndarray(format="rgb24") for picture in film.decode(video=0)]
    assert len(pictures) == 60 + NOTICE_SECONDS * 25
    assert np.abs(pictures[0].astype(int) - pictures[99]).mean() < 3
    assert np.abs(pictures[0].astype(int) - pictures[100]).mean() > 10


def test_without_the_optional_part_a_film_says_what_to_install(
    painter: Painter, shows: tuple[CircuitShow, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(MakerError) as caught:
        write_mp4(tmp_path / "gate.mp4", painter, Film(chosen(shows, 2), 40, may_flash=False), nothing)
    assert caught.value.render() == (
        "error PAGE-006: a film as .mp4 needs a part that is not installed\n"
        "found:   no PyAV beside the program\n"
        "allowed: PyAV, or a film as .gif\n"
        'do:      type  pip install "lampwright[film]"  once, or name a file that ends in .gif'
        "   (lampwright explain PAGE-006)"
    )
    assert list(tmp_path.iterdir()) == []


def test_frames_too_short_for_a_film_are_passed_over() -> None:
    assert film_frames(40, 10.0, 2.0) == range(250, 300, 1)
    assert film_frames(8, 0.0, 1.0) == range(0, 125, 3)


@pytest.mark.parametrize("length", [0.0, -3.0, 0.03, 1e9])
def test_a_film_of_no_length_or_without_end_is_refused(length: float) -> None:
    with pytest.raises(MakerError, match="PAGE-007"):
        film_frames(40, 0.0, length)
