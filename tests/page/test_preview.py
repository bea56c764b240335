"""Whoever ordered the piece sees it as the chips will show it, from one file and with no network."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from playwright.sync_api import Page, expect

from lampwright.page.preview import preview_page
from lampwright.page.scene import scene_of
from lampwright.piece.model import Piece
from lampwright.show import CircuitShow
from lampwright.show.render import frames


@pytest.fixture
def preview(tab: Page, frost_gate: Piece, shows: tuple[CircuitShow, ...], tmp_path: Path) -> Page:
    return opened(tab, tmp_path, preview_page(scene_of(frost_gate, shows), may_flash=False))


def opened(tab: Page, folder: Path, text: str) -> Page:
    file = folder / "preview.html"
    file.write_text(text, encoding="utf-8")
    tab.context.set_offline(True)
    tab.goto(file.as_uri())
    tab.wait_for_function("window.lampwright")
    return tab


def drawn(preview: Page, circuit: int, frame: int) -> NDArray[np.uint8]:
    return np.array(preview.evaluate(f"lampwright.frame({circuit}, {frame})"), np.uint8)


def test_the_preview_shows_the_very_bits_that_the_chips_send(preview: Page, shows: tuple[CircuitShow, ...]) -> None:
    once = shows[0].standby_frames + shows[0].pass_frames
    cues = [shows[0].standby_frames + cue.start + step for cue in shows[0].cues for step in (0, 1, 60, 400)]
    for circuit, show in enumerate(shows):
        for frame in [0, 7, 13, 1501, *cues, once, once + 60]:
            expected = frames(show, frame, 1).reshape(-1)
            np.testing.assert_array_equal(drawn(preview, circuit, frame), expected, f"{circuit} {frame}")


def test_light_reaches_the_screen(preview: Page) -> None:
    preview.evaluate("lampwright.clock.seek(700)")
    preview.wait_for_timeout(1000)
    assert brightest(preview) > 150


def brightest(preview: Page) -> int:
    """Return the brightest value of the picture that is on the screen."""
    shot = Image.open(io.BytesIO(preview.locator("#canvas").screenshot())).convert("L")
    return int(np.asarray(shot).max())


def test_time_goes_on_and_can_be_dragged(preview: Page) -> None:
    before = preview.evaluate("lampwright.clock.seconds")
    preview.wait_for_function(f"lampwright.clock.seconds > {before}")
    box = preview.locator("#bar").bounding_box()
    assert box is not None
    preview.mouse.click(box["x"] + 2, box["y"] + 5)
    expect(preview.locator("#state")).to_contain_text("standby, 9:")


def test_a_show_that_may_flash_waits_until_it_is_asked_for(
    tab: Page, frost_gate: Piece, shows: tuple[CircuitShow, ...], tmp_path: Path
) -> None:
    preview = opened(tab, tmp_path, preview_page(scene_of(frost_gate, shows), may_flash=True))
    before = preview.evaluate("lampwright.clock.seconds")
    preview.wait_for_timeout(300)
    assert preview.evaluate("lampwright.clock.seconds") == before
    preview.get_by_role("button", name="Show it all the same").click()
    preview.wait_for_function(f"lampwright.clock.seconds > {before}")


def test_whoever_asked_for_less_motion_gets_a_still_picture(
    tab: Page, frost_gate: Piece, shows: tuple[CircuitShow, ...], tmp_path: Path
) -> None:
    tab.emulate_media(reduced_motion="reduce")
    preview = opened(tab, tmp_path, preview_page(scene_of(frost_gate, shows), may_flash=False))
    assert preview.get_by_role("button", name="Play").is_visible()


def test_a_piece_can_not_put_a_script_into_its_preview(frost_gate: Piece, shows: tuple[CircuitShow, ...]) -> None:
    scene = scene_of(frost_gate, shows) | {"name": "</script><script>alert(1)</script>"}
    assert "<script>alert" not in preview_page(scene, may_flash=False)
