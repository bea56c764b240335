"""On whatever screen, nothing of the page is cut off, lies over something else, or is too small to be hit.

Targets of 24 by 24 CSS pixels: Web Content Accessibility Guidelines (WCAG) 2.2, success criterion 2.5.8 (AA); no
scrolling sideways at 320 pixels: 1.4.10 (AA).
"""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

WIDTHS = [(320, 700), (390, 844), (1024, 768), (1440, 900)]
FAULTS = (Path(__file__).parent / "misfits.js").read_text(encoding="utf-8")


def unfold(page: Page) -> None:
    """Open everything that is folded, and what is folded within it."""
    for _ in range(4):
        page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true; })")
        page.wait_for_timeout(100)
    expect(page.locator(".faults li").first).to_be_visible()
    page.get_by_role("button", name="Take a copy").click()
    expect(page.locator("#look-editor .word")).to_contain_text("on the piece now")
    page.locator("button.code").first.click()
    page.get_by_role("button", name="What to cut").click()
    expect(page.locator(".errand pre")).to_be_visible(timeout=120_000)


@pytest.mark.parametrize("is_unfolded", [False, True])
def test_everything_has_its_room(opened: Page, is_unfolded: bool) -> None:
    expect(opened.locator(".findings:not(.estimate) .counts")).to_contain_text("passed", timeout=60_000)
    if is_unfolded:
        unfold(opened)
    for width, height in WIDTHS:
        opened.set_viewport_size({"width": width, "height": height})
        opened.wait_for_timeout(200)
        assert opened.evaluate(FAULTS) == [], f"at {width} pixels"


@pytest.mark.parametrize(
    ("breaks", "told"),
    [
        ("#bar { width: 2000px !important; }", "scrolls sideways"),
        ("#file .row > :last-child { margin-left: -4rem; }", "over"),
        ("#play { min-height: 0; height: 20px; padding: 0; }", "small"),
        ("#word { white-space: nowrap; overflow: hidden; width: 3rem; }", "cut off"),
    ],
)
def test_what_does_not_fit_is_noticed(opened: Page, breaks: str, told: str) -> None:
    opened.set_viewport_size({"width": 390, "height": 844})
    sheet = "text => { const s = new CSSStyleSheet(); s.replaceSync(text); document.adoptedStyleSheets.push(s); }"
    opened.evaluate(sheet, breaks)
    assert any(each.startswith(told) for each in opened.evaluate(FAULTS))
