"""Whoever puts a finger on a pixel learns which one it is, and its volts at that moment."""

from __future__ import annotations

import re

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from lampwright.page.probe import probed, rails_of
from lampwright.page.workspace import Workspace
from lampwright.piece import read_piece
from lampwright.show import render
from lampwright.signoff import Report, sign_off
from lampwright.signoff.progress import Silent
from tests.page.served import SMALL, Served


@pytest.fixture(scope="module")
def report() -> Report:
    return sign_off(read_piece(SMALL), Silent())


@pytest.fixture
def workspace() -> Workspace:
    return Workspace(SMALL)


def test_the_pixel_that_the_weighing_found_lowest_has_those_volts(workspace: Workspace, report: Report) -> None:
    (rail,) = report.rails
    pixel = int(rail.where[rail.worst_frame])
    told = probed(workspace.draft, 0, pixel, rail.worst_frame)
    assert told["volts"] == pytest.approx(float(rail.lowest.min()), abs=1e-4)
    assert f"pixel {pixel + 1} of light" in told["address"]


def test_currents_add_up_at_the_pack(workspace: Workspace) -> None:
    """Kirchhoff's current law (any text on circuits): what the pack gives is what pixels and board take."""
    draft = workspace.draft
    solved = rails_of(draft, 0).frame(render(draft.shows[0], 700, 1).codes[0])
    board = draft.piece.circuits[0].board.current.value
    assert solved.pack_current == pytest.approx(float(np.sum(solved.pixel_current)) + board, rel=1e-6)


def test_a_click_on_a_pixel_tells_its_address_and_its_volts(opened: Page, workspace: Workspace) -> None:
    opened.evaluate("lampwright.clock.play(false), lampwright.clock.seek(70)")
    opened.wait_for_timeout(500)
    x, y = opened.evaluate("lampwright.place(120)")
    box = opened.locator("#canvas").bounding_box()
    assert box is not None
    opened.mouse.click(box["x"] + x, box["y"] + y)
    note = opened.locator("#pixel")
    expect(note.locator(".volts")).to_contain_text("needed")
    found = re.search(r"pixel (\d+) of light", note.inner_text())
    assert found is not None
    pixel = int(found[1]) - 1
    assert abs(pixel - 120) <= 3, "pixels may lie beside one another on the screen"
    told = probed(workspace.draft, 0, pixel, 700)
    assert told["told"] in note.inner_text()


@pytest.mark.parametrize("pixel", [-1, 240, 10**9])
def test_a_pixel_that_is_not_there_is_refused(served: Served, pixel: int) -> None:
    assert served.told("/probe", {"number": 1, "circuit": 0, "pixel": pixel, "frame": 0})[0] == 400


def test_a_frame_that_is_never_shown_is_refused(served: Served) -> None:
    assert served.told("/probe", {"number": 1, "circuit": 0, "pixel": 0, "frame": 1 << 31})[0] == 400
    assert served.told("/probe", {"number": 1, "circuit": 9, "pixel": 0, "frame": 0})[0] == 400
