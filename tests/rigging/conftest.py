"""Pieces to hang and stand."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from lampwright.layout import Layout, lay_out
from lampwright.piece import piece_from_text

Build = Callable[..., Layout]

TEXT = """
[brief]
name = "Row"
place = "here"
date = 2026-12-19
standby = "10 min"
run_time = "2 h"
coldest = "-5 degC"
wind = "7 m/s"
survive = { failures = 1, lit = "50 %" }

[[member]]
name = "post"
shape = "straight"
length = "2.4 m"
tube = "conduit-1"
socket = "0.5 m"
repeat = { pattern = "row", count = 3, step = ["3 m", "0 m", "0 m"] }

[[circuit]]
name = "line"
each = "post"
pack = "pack-20ah-3a"
board = "m328p-16mhz-crystal"
[[circuit.run]]
name = "post"
strip = "ws2812b-60"
pin = "PD6"
section = [{ on = "post" }]
[[circuit.run]]
name = "garland"
strip = "ws2812b-60"
pin = "PD5"
skip = "last"
section = [{ span = { from = "top", to = "next top" }, sag = "0.3 m", carrier = "nylon-550" }]

[show]
rate = "20 /s"
brightness = "20 %"
[[cue]]
look = "slow-ice"
length = "1 min"
"""


@pytest.fixture
def row() -> Build:
    """Lay out three posts with two spans, after replacing some of the text."""

    def build(*changes: tuple[str, str]) -> Layout:
        text = TEXT
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        return lay_out(piece_from_text(text, Path("row.toml")))

    return build
