"""A fault that is switched on shows in the picture what goes dark, before it happens on the night."""

from __future__ import annotations

import io

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from playwright.sync_api import Page, expect

from tests.page.served import Served


@pytest.fixture
def failing(opened: Page) -> Page:
    """The page with the faults open, standing still in the show."""
    opened.get_by_role("button", name="Pause").click()
    opened.locator("summary", has_text="If something fails").click()
    expect(opened.locator("#failing [role=switch]").first).to_be_visible()
    return opened


def switch(page: Page, fault: str) -> None:
    page.get_by_label("Find a fault").fill(fault)
    page.locator("#failing").get_by_role("switch", name=fault).click()


def shown(page: Page) -> NDArray[np.uint8]:
    codes: NDArray[np.uint8] = np.array(page.evaluate("lampwright.shown(0)"), np.uint8).reshape(-1, 3)
    return codes


def light(page: Page) -> float:
    """Return how bright the picture on the screen is where it is brightest: mean of its 500 brightest dots."""
    page.wait_for_timeout(400)
    picture = np.asarray(Image.open(io.BytesIO(page.locator("#canvas").screenshot())).convert("L"))
    below_the_buttons = picture[picture.shape[0] // 6 :]
    return float(np.sort(below_the_buttons.reshape(-1))[-500:].mean())


def test_a_plug_that_is_out_makes_the_picture_dark_until_it_is_mended(failing: Page) -> None:
    before, lit = light(failing), shown(failing)
    assert lit.any()
    switch(failing, "post: a plug is out")
    expect(failing.locator("#failing .verdict")).to_contain_text("0 % of the pixels and 0 of 1 circuits are lit")
    assert not shown(failing).any()
    assert light(failing) < 0.7 * before
    failing.get_by_role("button", name="All mended").click()
    expect(failing.locator("#failing .verdict")).to_be_empty()
    np.testing.assert_array_equal(shown(failing), lit)


def test_behind_a_dead_pixel_the_last_colour_stays_while_time_goes_on(failing: Page) -> None:
    before = shown(failing)
    switch(failing, "pixel 100")
    expect(failing.locator("#failing .verdict")).to_contain_text("1 dark")
    failing.evaluate("lampwright.clock.seek(lampwright.clock.seconds + 3)")
    failing.wait_for_timeout(300)
    after, healthy = shown(failing), np.array(failing.evaluate("lampwright.codes(0)"), np.uint8).reshape(-1, 3)
    assert not after[100].any()
    np.testing.assert_array_equal(after[101:], before[101:])
    np.testing.assert_array_equal(after[:100], healthy[:100])
    assert (healthy[101:] != before[101:]).any(), "the show goes on where nothing has failed"


def test_two_faults_can_be_on_at_once_and_the_keyboard_does_it(failing: Page) -> None:
    for pixel in ("pixel 10:", "pixel 200:"):
        failing.get_by_label("Find a fault").fill(pixel)
        failing.keyboard.press("Tab")
        if failing.evaluate("document.activeElement.textContent") == "All mended":
            failing.keyboard.press("Tab")
        while pixel not in failing.evaluate("document.activeElement.textContent"):
            failing.keyboard.press("Tab")
        failing.keyboard.press("Space")
    expect(failing.locator("#failing .verdict")).to_contain_text("2 dark")
    expect(failing.locator("#failing [role=switch][aria-checked=true]")).to_have_count(2)


def test_another_state_of_the_piece_begins_whole(failing: Page) -> None:
    switch(failing, "post: a plug is out")
    expect(failing.locator("#failing .verdict")).to_contain_text("0 of 1")
    field = failing.get_by_label("length", exact=True).first
    failing.locator("summary", has_text='member "post"').click()
    field.fill("3 m")
    field.press("Enter")
    expect(failing.locator("#word")).to_have_text("changed, not yet written")
    failing.wait_for_timeout(300)
    assert shown(failing).any()
    expect(failing.locator("#failing .verdict")).to_be_empty()


@pytest.mark.parametrize("faults", [[-1], [10**9], ["x"], "x", [0] * 9])
def test_faults_that_are_not_there_are_refused(served: Served, faults: object) -> None:
    assert served.told("/suffer", {"number": 1, "faults": faults})[0] == 400


def test_faults_of_an_older_state_are_refused(served: Served) -> None:
    status, answer = served.told("/suffer", {"number": 99, "faults": [0]})
    assert (status, answer["problems"][0]["code"]) == (422, "PAGE-002")
