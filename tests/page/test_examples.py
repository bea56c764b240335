"""Every example opens on the page and glows there as its chips will send it."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from lampwright.layout import lay_out
from lampwright.piece import read_piece
from lampwright.show import compile_show
from lampwright.show.render import frames
from tests.page.served import serve_copy

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/*.toml"))


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_each_example_opens_and_glows_as_its_chips_will(example: Path, tab: Page, tmp_path: Path) -> None:
    tab.goto(serve_copy(example, tmp_path).address)
    expect(tab.get_by_role("button", name=re.compile("^(Play|Pause)$"))).to_be_visible()
    for number, show in enumerate(compile_show(lay_out(read_piece(example)))[:2]):
        frame = show.standby_frames + show.pass_frames // 3
        codes = np.array(tab.evaluate(f"lampwright.frame({number}, {frame})"), np.uint8)
        assert codes.any()
        np.testing.assert_array_equal(codes, frames(show, frame, 1).reshape(-1))
