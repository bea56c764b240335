"""Draws docs/pictures/page-*.png: the page with Frost Gate on it, on three screens, by night and under work light.

python -m tests.page.draw_page docs/pictures
"""

from __future__ import annotations

import io
import shutil
import sys
import tempfile
import threading
from pathlib import Path
from queue import Queue

from PIL import Image
from playwright.sync_api import Page, expect, sync_playwright

from lampwright.page.server import serve
from tests.page.conftest import EXAMPLE, FLAGS

MINUTE_SHOWN = 40.0
"""Since power-on: within a swell. [min]"""

SCREENS = ((1440, 900), (1024, 768), (390, 844))
LIGHTS = {"night": "night", "work light": "day"}


def draw(pictures: Path, folder: Path) -> None:
    """Open the page of a copy of Frost Gate, wait until every frame is weighed, and take its pictures."""
    file = folder / EXAMPLE.name
    shutil.copy(EXAMPLE, file)
    told: Queue[str] = Queue()
    threading.Thread(target=serve, args=(file, 0, told.put), daemon=True).start()
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        page.goto(told.get(timeout=60))
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
        browser.close()


def form(page: Page, picture: Path) -> None:
    """Show a circuit in the form with what it leaves at its defaults."""
    page.set_viewport_size({"width": 1440, "height": 900})
    circuit = page.locator("#form details[data-table='[\"circuit\",0]']")
    circuit.locator("> summary").click()
    circuit.locator("> .inside > .left > summary").click()
    circuit.evaluate("each => each.scrollIntoView()")
    page.wait_for_timeout(500)
    take(page, picture, page.locator("#bench").bounding_box())


def take(page: Page, picture: Path, part: dict[str, float] | None = None) -> None:
    """Write a picture of the page in 256 colours, which is all that it needs."""
    image = Image.open(io.BytesIO(page.screenshot(clip=part)))
    image.convert("RGB").quantize(256, dither=Image.Dither.NONE).save(picture, optimize=True)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        draw(Path(sys.argv[1]), Path(scratch))
