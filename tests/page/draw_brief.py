"""Draws docs/pictures/brief-*.png: the page of Frost Gate's brief with its candidates, wide and on a telephone.

python -m tests.page.draw_brief docs/pictures
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import threading
from pathlib import Path
from queue import Queue

from PIL import Image
from playwright.sync_api import Page, expect, sync_playwright

from lampwright.page.server import serve
from tests.page.conftest import FLAGS

BRIEF = Path(__file__).parents[2] / "examples" / "briefs" / "frost-gate" / "brief.toml"
PATIENCE = 1_200_000
"""On a machine that has much else to do. [ms]"""
CHOSEN = 3
COLOURS = 128
"""Of a picture that is kept: enough for a page, and a third of the bytes."""


def take(page: Page, picture: Path) -> None:
    """Take a picture of the window, small enough to keep."""
    page.wait_for_timeout(1500)
    page.screenshot(path=picture)
    with Image.open(picture) as whole:
        few = whole.convert("RGB").quantize(COLOURS)
    few.save(picture, optimize=True)


def draw(brief: Path, folder: Path, scratch: Path) -> None:
    """Open the page of a copy of a brief, wait for its candidates, and take its pictures."""
    file = scratch / brief.name
    shutil.copy(brief, file)
    told: Queue[str] = Queue()
    threading.Thread(target=serve, args=(file, 0, told.put), daemon=True).start()
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        page.goto(told.get(timeout=60))
        expect(page.locator(".offers-table")).to_be_visible(timeout=PATIENCE)
        page.get_by_role("button", name=f"look at candidate {min(CHOSEN, page.locator('.candidate').count())}").click()
        expect(page.get_by_role("button", name="Pause")).to_be_visible(timeout=PATIENCE)
        page.get_by_role("button", name="Pause").click()
        page.evaluate("document.activeElement.blur()")
        take(page, folder / "brief-1440.png")
        page.locator(".told").scroll_into_view_if_needed()
        page.locator(".offers-table").evaluate("table => table.scrollIntoView()")
        take(page, folder / "brief-1440-table.png")
        page.set_viewport_size({"width": 390, "height": 844})
        page.get_by_role("button", name="in front").click()
        page.locator(".top").evaluate("top => top.scrollIntoView()")
        take(page, folder / "brief-390.png")
        page.locator(".choice").evaluate("choice => choice.scrollIntoView()")
        take(page, folder / "brief-390-table.png")
        browser.close()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        draw(BRIEF if len(sys.argv) < 3 else Path(sys.argv[2]), Path(sys.argv[1]), Path(scratch))
