"""Draws docs/pictures/inspection-390.png: three screens of the inspection on the page, as wide as a telephone.

python -m tests.page.draw_inspection docs/pictures/inspection-390.png
"""

from __future__ import annotations

import io
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from PIL import Image, ImageDraw
from playwright.sync_api import Page, expect

from tests.page.conftest import EXAMPLE
from tests.page.photographed import window_on


def some_photo() -> bytes:
    """Return a drawn stand-in for a photo of a tie that has slipped."""
    image = Image.new("RGB", (800, 600), (46, 50, 58))
    pen = ImageDraw.Draw(image)
    pen.rectangle((0, 250, 800, 350), fill=(150, 154, 160))
    pen.rectangle((380, 235, 430, 365), fill=(24, 24, 24))
    text = io.BytesIO()
    image.save(text, "JPEG")
    return text.getvalue()


def fill(page: Page) -> None:
    """Say of the first arch what failed, and leave one question open."""
    page.get_by_role("button", name="Failed: pack, arch 1", exact=True).click()
    page.get_by_label("flat", exact=True).check()
    page.get_by_label("When? Minutes after switching on").fill("164")
    page.get_by_role("button", name="Write it down").click()
    page.get_by_role("button", name="The rest of arch 1 is sound").click()
    page.get_by_role("button", name="Sound: pack, arch 2", exact=True).click()
    page.get_by_role("button", name="Failed: span garland, arch 2 crown to arch 3 crown, arch 2").click()
    page.get_by_label("torn off").check()
    page.get_by_label("Take or choose a photo").set_input_files(
        {"name": "IMG_0042.jpg", "mimeType": "image/jpeg", "buffer": some_photo()}
    )
    expect(page.get_by_label("Photo, by its place beside the piece")).not_to_have_value("")
    page.get_by_role("button", name="Write it down").click()
    expect(page.locator("#inspection .entry img")).to_be_visible()
    page.get_by_role("button", name="Failed: hoop, arch 2, pixels 0 to 345, arch 2").click()
    page.get_by_label("dead pixel").check()


def draw(picture: Path, folder: Path) -> None:
    """Open the page of a copy of Frost Gate, fill in some of its form, and take its picture."""
    with window_on(EXAMPLE, folder, 390, 844, "#inspect") as page:
        expect(page.locator("#inspection .word").first).to_contain_text("told", timeout=60_000)
        fill(page)
        screens = [screen(page, where) for where in ("#inspection", ".failure", ".map")]
    side_by_side(screens).save(picture, optimize=True)


def screen(page: Page, where: str) -> Image.Image:
    """Return what the telephone shows once it was moved to a part of the form."""
    page.locator(where).evaluate("each => each.scrollIntoView({ block: each.matches('.map') ? 'end' : 'start' })")
    page.mouse.wheel(0, 60 if where == ".map" else -60 if where == ".failure" else 0)
    page.wait_for_timeout(500)
    return Image.open(io.BytesIO(page.screenshot()))


def side_by_side(screens: Sequence[Image.Image]) -> Image.Image:
    """Return several screens in one picture, a little apart."""
    width, height = screens[0].size
    whole = Image.new("RGB", (len(screens) * (width + 16) - 16, height), (255, 255, 255))
    for number, each in enumerate(screens):
        whole.paste(each, (number * (width + 16), 0))
    return whole.quantize(64)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        draw(Path(sys.argv[1]), Path(scratch))
