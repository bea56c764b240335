"""A sheet of an earlier state that lies beside the new ones is built from by mistake."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest


@pytest.mark.usefixtures("folder")
def test_drawing_leaves_its_sheets_and_none_of_an_earlier_paper(
    lampwright: Callable[..., object], folder: Path
) -> None:
    on_a4 = lampwright("drawing", "small.toml", "--paper", "a4")
    assert on_a4.code == 0
    assert on_a4.out == "3 sheets of A4 in out/drawing, as PDF and SVG: print at 100 %, not fitted to the page\n"
    assert lampwright("drawing", "small.toml").code == 0
    sheets = sorted(file.name for file in (folder / "out" / "drawing").iterdir())
    assert sheets == ["drawing.pdf", "sheet-1.svg", "sheet-2.svg"]
    assert 'width="420mm" height="297mm"' in (folder / "out" / "drawing" / "sheet-1.svg").read_text(encoding="utf-8")
