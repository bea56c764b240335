"""Draws docs/pictures/page-*.png: the page with Frost Gate on it, on three screens, by night and under work light.

python -m tests.page.draw_page docs/pictures
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, expect

from tests.page.conftest import EXAMPLE
from tests.page.photographed import take, window_on

MINUTE_SHOWN = 40.0
"""Since power-on: within a swell. [min]"""

SCREENS = ((1440, 900), (1024, 768), (390, 844))
LIGHTS = {"night": "night", "work light": "day"}


def draw(pictures: Path, folder: Path) -> None:
    """Open the page of a copy of Frost Gate, wait until every frame is weighed, and take its pictures."""
    with window_on(EXAMPLE, folder, 1440, 900) as page:
        expect(page.locator(".findings:not(.estimate) .counts")).to_contain_text("passed", timeout=300_000)
        page.evaluate("lampwright.clock.play(false)")
        page.evaluate(f"lampwright.clock.seek({60 * MINUTE_SHOWN})")
        for width, height in SCREENS:
            page.set_viewport_size({"width": width, "height": height})
            for light, name in LIGHTS.items():
                page.get_by_role("radio", name=light).click()
                page.wait_for_timeout(1000)
                take(page, pictures / f"page-{width}-{name}.png")
        form(page, pictures / "page-change.png")


def form(page: Page, picture: Path) -> None:
    """Show a circuit in the form with what it leaves at its defaults."""
    page.set_viewport_size({"width": 1440, "height": 900})
    circuit = page.locator("#form details[data-table='[\"circuit\",0]']")
    circuit.locator("> summary").click()
    circuit.locator("> .inside > .left > summary").click()
    circuit.evaluate("each => each.scrollIntoView()")
    page.wait_for_timeout(500)
    take(page, picture, page.locator("#bench").bounding_box())


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        draw(Path(sys.argv[1]), Path(scratch))
