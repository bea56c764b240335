"""Pictures of the page for the docs: a page served and opened in a window, and its picture small enough to keep."""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

from tests.page.conftest import FLAGS
from tests.page.served import serve_copy


@contextmanager
def window_on(file: Path, folder: Path, width: int, height: int, part: str = "") -> Iterator[Page]:
    """Open the page of a copy of a piece or brief file in a window of this size, at a part of it such as "#inspect"."""
    address = serve_copy(file, folder).address
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        page = browser.new_page(viewport={"width": width, "height": height})
        page.goto(address + part)
        yield page
        browser.close()


def take(page: Page, picture: Path, part: dict[str, float] | None = None) -> None:
    """Write a picture of the window, or of part of it, in 256 colours, which is all that it needs."""
    image = Image.open(io.BytesIO(page.screenshot(clip=part)))
    image.convert("RGB").quantize(256, dither=Image.Dither.NONE).save(picture, optimize=True)
