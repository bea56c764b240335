"""A small piece: one post, thirty pixels, a minute of standby."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from lampwright.layout import lay_out
from lampwright.piece import read_piece
from lampwright.show import CircuitShow, compile_show
from tests.small_piece import small_piece


@pytest.fixture
def small_piece_of_two(tmp_path: Path) -> Callable[[str], tuple[CircuitShow, ...]]:
    """Compile the small piece with two posts in the same place, and one cue."""

    def compile_two(cue: str) -> tuple[CircuitShow, ...]:
        file = tmp_path / "two.toml"
        text = small_piece(cues=f"[[cue]]\n{cue}", circuit='each = "post"')
        repeat = 'length = "1 m"\nrepeat = { pattern = "row", count = 2, step = ["0 m", "0 m", "0 m"] }'
        file.write_text(text.replace('length = "1 m"', repeat))
        return compile_show(lay_out(read_piece(file)))

    return compile_two


@pytest.fixture
def small_show(tmp_path: Path) -> Callable[..., CircuitShow]:
    """Compile the small piece, with changes."""

    def compile_small(**changes: str) -> CircuitShow:
        file = tmp_path / "small.toml"
        file.write_text(small_piece(**changes))
        return compile_show(lay_out(read_piece(file)))[0]

    return compile_small
