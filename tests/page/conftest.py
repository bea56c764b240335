"""A real browser, and the pieces that it is shown."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from lampwright.layout import lay_out
from lampwright.piece import read_piece
from lampwright.piece.model import Piece
from lampwright.show import CircuitShow, compile_show
from tests.page.served import SMALL, Served, serve_copy

FLAGS = (
    "--no-sandbox --disable-quic --no-first-run --disable-background-networking --disable-component-update "
    "--disable-sync --use-angle=swiftshader --enable-unsafe-swiftshader"
).split()
EXAMPLE = Path(__file__).parents[2] / "examples" / "frost-gate" / "frost-gate.toml"
expect.set_options(timeout=30_000)  # a machine that has much else to do; what works is there at once


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    chromium = shutil.which("chromium")
    assert chromium is not None, 'no Chromium: type "make references"'
    with sync_playwright() as player:
        started = player.chromium.launch(executable_path=chromium, args=FLAGS)
        yield started
        started.close()


@pytest.fixture
def tab(browser: Browser) -> Iterator[Page]:
    """A tab whose errors fail the test."""
    context: BrowserContext = browser.new_context(viewport={"width": 1024, "height": 768})
    page = context.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    yield page
    context.close()
    assert errors == []


@pytest.fixture(scope="session")
def frost_gate() -> Piece:
    return read_piece(EXAMPLE)


@pytest.fixture(scope="session")
def shows(frost_gate: Piece) -> tuple[CircuitShow, ...]:
    return compile_show(lay_out(frost_gate))


@pytest.fixture
def served(tmp_path: Path) -> Served:
    """The page of a small piece."""
    return serve_copy(SMALL, tmp_path)


@pytest.fixture
def opened(tab: Page, served: Served) -> Page:
    """That page in a browser."""
    tab.goto(served.address)
    expect(tab.get_by_role("button", name="Pause")).to_be_visible()
    return tab
