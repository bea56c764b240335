"""Whoever uses a keyboard, a screen reader or larger contrast can use the page too.

Web Content Accessibility Guidelines (WCAG) 2.2, levels A and AA, as far as a program can check them: axe-core 4.10, an
outside checker that shares no code with the page.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from lampwright.page.preview import preview_page
from lampwright.page.scene import scene_of
from lampwright.piece.model import Piece
from lampwright.show import CircuitShow

AXE = Path(__file__).parent / "axe" / "node_modules" / "axe-core" / "axe.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
WIDTHS = [(1440, 900), (390, 844)]


def serious(page: Page) -> list[str]:
    """Return what the checker calls serious or critical, each with its places."""
    assert AXE.is_file(), 'no checker: type "make test" once'
    page.evaluate(AXE.read_text(encoding="utf-8") + "\nundefined")  # past the policy that bars other scripts
    found: dict[str, Any] = page.evaluate("rules => axe.run({ runOnly: rules })", RULES)
    assert len(found["passes"]) > 10, "the checker has looked"
    return [
        f"{each['id']}: {each['help']}: {[node['html'][:150] for node in each['nodes']][:4]}"
        for each in found["violations"]
        if each["impact"] in {"serious", "critical"}
    ]


@pytest.mark.parametrize(("width", "height"), WIDTHS)
def test_the_page_has_no_serious_problem(opened: Page, width: int, height: int) -> None:
    opened.set_viewport_size({"width": width, "height": height})
    expect(opened.locator(".findings:not(.estimate) .counts")).to_contain_text("passed", timeout=60_000)
    assert serious(opened) == []
    opened.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true; })")
    opened.locator("button.code").first.click()
    assert serious(opened) == []


def test_the_checker_finds_what_is_wrong(opened: Page) -> None:
    opened.evaluate("document.querySelector('#play').replaceChildren()")
    assert any(problem.startswith("button-name: ") for problem in serious(opened))


@pytest.mark.parametrize("may_flash", [False, True])
def test_the_preview_has_no_serious_problem(
    tab: Page, frost_gate: Piece, shows: tuple[CircuitShow, ...], tmp_path: Path, may_flash: bool
) -> None:
    file = tmp_path / "preview.html"
    file.write_text(preview_page(scene_of(frost_gate, shows), may_flash), encoding="utf-8")
    tab.goto(file.as_uri())
    tab.wait_for_function("window.lampwright")
    assert serious(tab) == []
