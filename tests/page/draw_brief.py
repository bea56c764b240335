"""Draws docs/pictures/brief-*.png: the page of Frost Gate's brief with its candidates, wide and on a telephone.

python -m tests.page.draw_brief docs/pictures
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, expect

from tests.page.photographed import take, window_on

BRIEF = Path(__file__).parents[2] / "examples" / "briefs" / "frost-gate" / "brief.toml"
PATIENCE = 1_200_000
"""On a machine that has much else to do. [ms]"""
CHOSEN = 3


def rest(page: Page, picture: Path) -> None:
    """Take a picture once the page has come to rest."""
    page.wait_for_timeout(1500)
    take(page, picture)


def draw(brief: Path, folder: Path, scratch: Path) -> None:
    """Open the page of a copy of a brief, wait for its candidates, and take its pictures."""
    with window_on(brief, scratch, 1440, 900) as page:
        expect(page.locator(".offers-table")).to_be_visible(timeout=PATIENCE)
        page.get_by_role("button", name=f"look at candidate {min(CHOSEN, page.locator('.candidate').count())}").click()
        expect(page.get_by_role("button", name="Pause")).to_be_visible(timeout=PATIENCE)
        page.get_by_role("button", name="Pause").click()
        page.evaluate("document.activeElement.blur()")
        rest(page, folder / "brief-1440.png")
        page.locator(".told").scroll_into_view_if_needed()
        page.locator(".offers-table").evaluate("table => table.scrollIntoView()")
        rest(page, folder / "brief-1440-table.png")
        page.set_viewport_size({"width": 390, "height": 844})
        page.get_by_role("button", name="in front").click()
        page.locator(".top").evaluate("top => top.scrollIntoView()")
        rest(page, folder / "brief-390.png")
        page.locator(".choice").evaluate("choice => choice.scrollIntoView()")
        rest(page, folder / "brief-390-table.png")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        draw(BRIEF if len(sys.argv) < 3 else Path(sys.argv[2]), Path(sys.argv[1]), Path(scratch))
