"""The picture of what a chip sent: readable, whole, or not there."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from lampwright.rehearsal import Part
from lampwright.rehearsal.countdown_picture import CELL_GAP, CELL_WIDTH, LEFT, PIXEL, ROW_GAP, TOP, draw_countdown
from lampwright.rehearsal.drawing import BAD, GOOD
from lampwright.rehearsal.faults import Fault, FaultPlan, kept_clock
from lampwright.rehearsal.injected import inject_faults
from lampwright.rehearsal.picture import WIDTH, draw_rehearsal
from lampwright.rehearsal.timing_picture import draw_timing
from tests.rehearsal.conftest import Outcome, replace

Rehearse = Callable[..., Outcome]


def test_the_picture_shows_light_in_countdown_and_show(rehearse_small: Rehearse, tmp_path: Path) -> None:
    outcome = rehearse_small()
    path = tmp_path / "rehearsal.png"
    draw_rehearsal([outcome.show], [outcome.seen], "Small Post", path)
    with Image.open(path) as image:
        assert image.width == WIDTH
        light = np.asarray(image.convert("L"), dtype=int)
    assert light[110:250, 110:400].max() > 100
    assert light[110:250, 440:1560].mean() > 20
    assert [file.name for file in tmp_path.iterdir()] == ["rehearsal.png"]


def test_a_picture_that_can_not_be_written_leaves_nothing_and_is_named(
    rehearse_small: Rehearse, tmp_path: Path
) -> None:
    outcome = rehearse_small()
    path = tmp_path / "rehearsal.png"
    path.mkdir()
    with pytest.raises(OSError, match="Is a directory") as caught:
        draw_rehearsal([outcome.show], [outcome.seen], "Small Post", path)
    assert caught.value.filename == str(path)
    assert [file.name for file in tmp_path.iterdir()] == ["rehearsal.png"]


def test_figures_carry_the_units_that_other_findings_use(rehearse_small: Rehearse) -> None:
    findings = {finding.code: finding for finding in rehearse_small().findings}
    assert findings["REHEARSAL-004"].limit == "at least 300 us"
    assert findings["REHEARSAL-004"].value.endswith(" ms")
    assert findings["REHEARSAL-006"].limit.startswith("at most ")
    assert findings["REHEARSAL-009"].limit == "at most 2 frames off"


def pixels_of(path: Path, colour: tuple[int, int, int]) -> int:
    """Return how many of a picture's pixels have just this colour."""
    with Image.open(path) as image:
        return int((np.asarray(image.convert("RGB")) == colour).all(axis=2).sum())


@pytest.mark.parametrize("is_watched", [True, False])
def test_faults_are_marked_red_where_they_were_not_survived(
    rehearse_small: Rehearse, tmp_path: Path, is_watched: bool
) -> None:
    edit = None if is_watched else replace("main.cpp", "wdt_enable(WDTO_250MS);", "wdt_disable();")
    outcome = rehearse_small(edit)
    part = Part(outcome.show, outcome.built.image, 0.001, kept_clock(outcome.built.ram_map))
    report = inject_faults(part, FaultPlan(count=60))
    path = tmp_path / "rehearsal.png"
    draw_rehearsal([outcome.show], [outcome.seen], "Small Post", path, [report])
    assert pixels_of(path, GOOD) > 100
    is_hung = [summary for summary in report.summaries if summary.fault is Fault.HANG and summary.failures]
    assert bool(is_hung) != is_watched
    assert (pixels_of(path, BAD) > 0) != is_watched


def test_a_bit_outside_its_window_stands_out_in_red(rehearse_small: Rehearse, tmp_path: Path) -> None:
    good = rehearse_small()
    draw_timing([good.show], [good.seen], "Small", tmp_path / "good.png")
    assert pixels_of(tmp_path / "good.png", BAD) == 0
    assert pixels_of(tmp_path / "good.png", GOOD) > 4 * 5 * 15  # four sticks

    def edit(folder: Path) -> None:
        text = (folder / "sender.h").read_text()
        (folder / "sender.h").write_text(text.replace("PAUSE_2 PAUSE_2", "", 1))

    bad = rehearse_small(edit)
    assert "REHEARSAL-003" in bad.failed
    draw_timing([bad.show], [bad.seen], "Small", tmp_path / "bad.png")
    assert pixels_of(tmp_path / "bad.png", BAD) > 5 * 15


def test_the_countdown_is_drawn_frame_by_frame(rehearse_small: Rehearse, tmp_path: Path) -> None:
    outcome = rehearse_small(standby="2 min")
    path = tmp_path / "countdown.png"
    assert draw_countdown([outcome.show], [outcome.seen], "Small", path)
    with Image.open(path) as image:
        light = np.asarray(image.convert("L"), dtype=int)
    n_pixel = outcome.seen.thinned.countdown[0].shape[1]
    for row, minutes_left in enumerate((2, 1)):
        bottom = TOP + row * (n_pixel * PIXEL + ROW_GAP) + n_pixel * PIXEL
        for frame in range(40):
            x = LEFT + frame * (CELL_WIDTH + CELL_GAP) + CELL_WIDTH // 2
            lit = [light[bottom - pixel * PIXEL - 3, x] > 100 for pixel in range(n_pixel)]
            assert sum(lit) == (minutes_left if frame < 20 else 0)
            assert all(lit[: sum(lit)])


def test_no_countdown_makes_no_picture(tmp_path: Path) -> None:
    assert not draw_countdown([], [], "Small", tmp_path / "countdown.png")
    assert list(tmp_path.iterdir()) == []
