"""Draws docs/pictures/page.png: the page with Frost Gate on it, as a browser shows it.

python -m tests.page.draw_page docs/pictures/page.png
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import threading
from pathlib import Path
from queue import Queue

from playwright.sync_api import expect, sync_playwright

from lampwright.page.server import serve
from tests.page.conftest import EXAMPLE, FLAGS

MINUTE_SHOWN = 16.0
"""Since power-on: within the glints. [min]"""


def draw(picture: Path, folder: Path) -> None:
    """Open the page of a copy of Frost Gate, wait until every frame is weighed, and take its picture."""
    file = folder / EXAMPLE.name
    shutil.copy(EXAMPLE, file)
    told: Queue[str] = Queue()
    threading.Thread(target=serve, args=(file, 0, told.put), daemon=True).start()
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        page.goto(told.get(timeout=60))
        expect(page.locator(".findings:not(.estimate) .counts")).to_contain_text("passed", timeout=300_000)
        page.get_by_role("button", name="Pause").click()
        page.evaluate(f"lampwright.clock.seek({60 * MINUTE_SHOWN})")
        page.wait_for_timeout(1000)
        page.screenshot(path=picture)
        browser.close()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        draw(Path(sys.argv[1]), Path(scratch))
