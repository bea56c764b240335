"""Whoever has no pointer reaches and works everything by keys alone.

Web Content Accessibility Guidelines (WCAG) 2.2: keyboard (2.1.1), no trap (2.1.2), focus order (2.4.3), focus
visible (2.4.7).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from playwright.sync_api import Page, expect

from tests.page.served import Served

FOCUSED = """() => {
    const each = document.activeElement;
    const style = getComputedStyle(each);
    const box = each.getBoundingClientRect();
    return {
        what: each.dataset.path || each.id || each.textContent.slice(0, 30),
        isSeen: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2,
        isInside: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
        isBody: each === document.body,
    };
}"""


def walk(page: Page, key: str = "Tab") -> list[dict[str, Any]]:
    """Go through the page by a key from its begin until the focus leaves it."""
    page.evaluate("document.activeElement.blur()")
    stops: list[dict[str, Any]] = []
    while len(stops) < 300:
        page.keyboard.press(key)
        stops.append(page.evaluate(FOCUSED))
        if stops[-1]["isBody"]:
            return stops[:-1]
    raise AssertionError("the focus never leaves the page")


def test_every_control_is_reached_in_order_and_seen(opened: Page) -> None:
    expect(opened.locator(".findings:not(.estimate) .counts")).to_contain_text("passed", timeout=60_000)
    stops = walk(opened)
    names = [stop["what"] for stop in stops]
    order = ["canvas", "dusk", "in front", "play", "1×", "bar", "highest draw", "Take the file", "Write a look"]
    assert [each for each in names if each in order] == order
    assert any(each.startswith('["show","brightness"]') for each in names)
    assert all(stop["isSeen"] and stop["isInside"] for stop in stops)


def test_light_and_speed_are_chosen_by_the_arrow_keys(opened: Page) -> None:
    opened.get_by_role("radio", name="dusk").focus()
    opened.keyboard.press("ArrowRight")
    expect(opened.get_by_role("radio", name="night")).to_be_focused()
    expect(opened.get_by_role("radio", name="night")).to_have_attribute("aria-checked", "true")
    opened.keyboard.press("ArrowLeft")
    opened.keyboard.press("ArrowLeft")
    expect(opened.get_by_role("radio", name="work light")).to_have_attribute("aria-checked", "true")


def await_place(page: Page, is_there: Callable[[list[float]], bool]) -> None:
    """Wait until the first pixel is drawn where it should be."""
    for _ in range(200):
        if is_there(page.evaluate("lampwright.place(0)")):
            return
        page.wait_for_timeout(100)
    raise AssertionError("the view hasn't turned")


def test_the_view_is_turned_and_a_pixel_told_by_keys(opened: Page) -> None:
    expect(opened.locator(".findings:not(.estimate) .counts")).to_contain_text("passed", timeout=60_000)
    opened.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")  # in its last size
    canvas = opened.locator("#canvas")
    canvas.focus()
    before = opened.evaluate("lampwright.place(0)")
    opened.keyboard.press("ArrowRight")
    await_place(opened, lambda place: math.dist(place, before) > 2)
    opened.keyboard.press("ArrowLeft")
    await_place(opened, lambda place: math.dist(place, before) < 0.5)
    opened.keyboard.press("+")
    await_place(opened, lambda place: math.dist(place, before) > 2)
    opened.keyboard.press("Enter")
    expect(opened.locator("#pixel")).to_contain_text("light, pixel")
    opened.keyboard.press("Escape")
    expect(opened.locator("#pixel")).to_be_hidden()


def test_escape_gives_a_field_its_value_back(opened: Page, served: Served) -> None:
    before = served.file.read_text(encoding="utf-8")
    field = opened.get_by_label("brightness", exact=True)
    field.fill("35 pct")
    field.press("Enter")
    expect(opened.locator("#form .wrong:not(:empty)")).to_contain_text('"pct"')
    field.press("Escape")
    expect(field).to_have_value("20 %")
    expect(opened.locator("#form .wrong:not(:empty)")).to_have_count(0)
    assert served.file.read_text(encoding="utf-8") == before


def test_the_focus_stays_where_a_change_was_made(opened: Page) -> None:
    opened.locator("#form summary", has_text="circuit").focus()
    opened.keyboard.press("Enter")
    opened.locator("[data-table='[\"circuit\",0]'] > .inside > .left > summary").focus()
    opened.keyboard.press("Enter")
    plug = opened.get_by_label("plug", exact=True)
    plug.focus()
    opened.keyboard.type("12 mohm")
    opened.keyboard.press("Enter")
    expect(opened.locator("#word")).to_have_text("changed, not yet written")
    expect(opened.get_by_label("plug", exact=True)).to_be_focused()
    expect(opened.get_by_label("plug", exact=True)).to_have_value("12 mohm")
