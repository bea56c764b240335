"""A small valid piece, to be changed by the tests."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from lampwright.piece import Piece, piece_from_text

BROKEN = Path(__file__).parent / "broken"

VALID = """\
[brief]
name = "Lantern Row"
place = "garden path"
date = 2026-10-31
standby = "5 min"
run_time = "2 h"
coldest = "2 degC"
wind = "6 m/s"
survive = { failures = 1, lit = "50 %" }

[[member]]
name = "post"
shape = "straight"
length = "6 ft 6 in"
repeat = { pattern = "row", count = 3, step = ["2 m", "0 m", "0 m"] }

[[circuit]]
name = "post"
each = "post"
pack = "pack-10ah-2a"
board = "m328p-16mhz-resonator"

[[circuit.run]]
name = "light"
strip = "sk6812-60"
pin = "PD6"
[[circuit.run.section]]
on = "post"
bare_start = "10 in"

[[circuit.run]]
name = "line"
strip = "sk6812-60"
pin = "PB1"
skip = "last"
[[circuit.run.section]]
span = { from = "top", to = "next top" }
sag = "10 cm"

[show]
rate = "40 /s"
brightness = "60 %"

[[cue]]
look = "slow-ice"
length = "20 min"
fade = "8 s"
"""

Change = Callable[..., Piece]


def changed(*changes: tuple[str, str]) -> str:
    """Return the valid piece with texts replaced; each must be there."""
    text = VALID
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


@pytest.fixture
def read_changed() -> Change:
    """Read the valid piece with some texts replaced."""

    def read(*changes: tuple[str, str]) -> Piece:
        return piece_from_text(changed(*changes), Path("piece.toml"))

    return read


@pytest.fixture
def valid_text() -> str:
    """The valid piece as text."""
    return VALID
