"""Progress bars for long work; silent where nobody sees them."""

from __future__ import annotations

from types import TracebackType
from typing import Self

from rich.console import Console
from rich.progress import BarColumn, Progress, TaskID, TextColumn, TimeElapsedColumn, TimeRemainingColumn


class Bars:
    """A bar for each stage, on stderr, gone when the work is done."""

    def __init__(self) -> None:
        console = Console(stderr=True)
        self._progress = Progress(
            TextColumn("{task.description}"),
            BarColumn(),
            TextColumn("{task.percentage:>3.0f} %"),
            TimeElapsedColumn(),
            TimeRemainingColumn(),
            console=console,
            transient=True,
            disable=not console.is_terminal,
        )
        self._task: TaskID | None = None

    def __enter__(self) -> Self:
        self._progress.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._progress.stop()

    def begin(self, stage: str, total: int) -> None:
        """Start the bar of a stage; the one before it is full."""
        if self._task is not None:
            self._progress.remove_task(self._task)
        self._task = self._progress.add_task(stage, total=total)

    def reach(self, done: int) -> None:
        """Move the stage's bar."""
        if self._task is not None:
            self._progress.update(self._task, completed=done)
