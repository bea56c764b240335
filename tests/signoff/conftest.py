"""A small piece, and a progress that remembers what it was told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from lampwright.piece import Piece, piece_from_text

SMALL = Path(__file__).with_name("small.toml")


class Told:
    """Progress that remembers stages and their last step."""

    def __init__(self) -> None:
        self.stages: dict[str, tuple[int, int]] = {}
        self._stage = ""

    def begin(self, stage: str, total: int) -> None:
        """Remember a stage."""
        self._stage = stage
        self.stages[stage] = (0, total)

    def reach(self, done: int) -> None:
        """Remember how far it got."""
        self.stages[self._stage] = (done, self.stages[self._stage][1])


@pytest.fixture
def told() -> Told:
    """Progress to look at afterwards."""
    return Told()


@pytest.fixture
def small() -> Callable[..., Piece]:
    """Read the small piece, after replacing some of its text."""

    def read(*changes: tuple[str, str]) -> Piece:
        text = SMALL.read_text(encoding="utf-8")
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        return piece_from_text(text, Path("small.toml"))

    return read
