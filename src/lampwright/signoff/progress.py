"""How long work tells how far it is; the faces decide how to show it."""

from __future__ import annotations

from typing import Protocol


class Progress(Protocol):
    """Told of each stage as it begins, and of every step of it."""

    def begin(self, stage: str, total: int) -> None:
        """Start a stage of ``total`` steps; the stage before it is over."""

    def reach(self, done: int) -> None:
        """``done`` steps of the stage are over."""


class Silent:
    """Progress that nobody watches."""

    def begin(self, stage: str, total: int) -> None:
        """Say nothing."""

    def reach(self, done: int) -> None:
        """Say nothing."""
