"""A file under change on a page: the states of its text, one after the other, and the way back to the file.

A change is first made in memory and read like a file; what can't be read changes nothing. The file on
disk is written only when the maker says so, and never over a change that somebody else made to it.
"""

from __future__ import annotations

import threading
from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Generic, Protocol, TypeVar

from lampwright.page.edits import added, changed, copied, taken_out
from lampwright.page.fields import Step
from lampwright.page.form import Form, Row
from lampwright.piece.toml import read_text
from lampwright.units.errors import MakerError, Problem
from lampwright.written import write_whole


class State(Protocol):
    """One state of the file."""

    @property
    def number(self) -> int:
        """Counts every state that there was; undone ones keep their number."""

    @property
    def text(self) -> str:
        """What the file would hold."""

    @property
    def form(self) -> Form:
        """What that text offers to change."""


Kept = TypeVar("Kept", bound=State)


class StaleError(Exception):
    """Work goes on for a state that is no longer shown."""


class While:
    """Progress that tells how far it is, and ends the work when the state has changed."""

    def __init__(self, is_current: Callable[[], bool], tell: Callable[[str, float], None]) -> None:
        self._is_current, self._tell = is_current, tell
        self._stage, self._total = "", 1

    def begin(self, stage: str, total: int) -> None:
        self._stage, self._total = stage, max(1, total)
        self.reach(0)

    def reach(self, done: int) -> None:
        if not self._is_current():
            raise StaleError
        self._tell(self._stage, done / self._total)


class States(ABC, Generic[Kept]):
    """A file, the state of it that the page shows, and the states before it."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self._lock = threading.RLock()
        self._on_disk = read_text(file)
        self._count = 0
        self._states = [self._next(self._on_disk)]
        self._progress: tuple[str, float] = ("", 0.0)
        self.is_closed = False
        self._closing: list[Callable[[], None]] = []
        self.revision = 0
        """Goes up whenever anything that the page shows has changed."""

    @abstractmethod
    def _read(self, number: int, text: str) -> Kept:
        """Return a text as a state. Raises ``MakerError`` where it can't be read."""

    @abstractmethod
    def _begin(self) -> None:
        """Begin whatever goes on beside the state that is shown, which is a new one."""

    @abstractmethod
    def shown(self) -> dict[str, Any]:
        """Return everything that the page shows, ready for JSON."""

    def await_answer(self) -> None:
        """Wait a moment for what should come with the answer to a change."""

    @property
    def draft(self) -> Kept:
        """The state that is shown."""
        return self._states[-1]

    def state(self, number: int) -> Kept:
        """Return the state that is shown, when that is its number.

        Raises
        ------
        MakerError
            PAGE-002, it is no longer the one shown.
        """
        draft = self.draft
        if number != draft.number:
            raise MakerError([out_of_date()])
        return draft

    def progress(self) -> dict[str, Any]:
        """Return how far the work on the state that is shown is."""
        with self._lock:
            return {"revision": self.revision, "stage": self._progress[0], "share": self._progress[1]}

    def change(self, number: int, changes: Sequence[tuple[tuple[Step, ...], str]]) -> None:
        """Write values at paths of state ``number``, as a maker says them, for others or for defaults: all or none.

        Raises
        ------
        MakerError
            The state is no longer the one shown (PAGE-002), the text has no place for a key (PAGE-014), or
            the file can't be read with these values.
        """
        with self._lock:
            text, form = self.state(number).text, self.draft.form
            for path, value in changes:
                row = form.row(path)
                if row is None:
                    raise MakerError([out_of_date()])
                text = (added if row.field is None else changed)(text, row, value)
                if len(changes) > 1:
                    form = self._read(number, text).form  # values further on in a line have moved
            self._go_to(text)

    def take_out(self, number: int, path: tuple[Step, ...]) -> None:
        """Take a key of state ``number``, or one of several like tables, out of the text: its default holds again.

        Raises
        ------
        MakerError
            The state is no longer the one shown (PAGE-002), the text doesn't let it go (PAGE-014), or the file
            can't be read without it.
        """
        with self._lock:
            table = self.state(number).form.table(path)
            row = self._row(number, path) if table is None else None
            self._go_to(taken_out(self.draft.text, path, row))

    def copy(self, number: int, path: tuple[Step, ...]) -> None:
        """Write one more of several like tables of state ``number`` behind the one at ``path``, as its copy.

        Raises
        ------
        MakerError
            The state is no longer the one shown (PAGE-002), the text has no place for it (PAGE-014), or the file
            can't be read with it.
        """
        with self._lock:
            table = self.state(number).form.table(path)
            if table is None or not table.may_copy:
                raise MakerError([out_of_date()])
            self._go_to(copied(self.draft.text, path))

    def _row(self, number: int, path: tuple[Step, ...]) -> Row:
        row = self.state(number).form.row(path)
        if row is None:
            raise MakerError([out_of_date()])
        return row

    def _go_to(self, text: str) -> None:
        if text != self.draft.text:
            self._states.append(self._next(text))
            self._renew()

    def undo(self) -> None:
        """Go back by one state, where there is one."""
        with self._lock:
            if len(self._states) > 1:
                self._states.pop()
                self._renew()

    def save(self) -> None:
        """Write the state that is shown to the file.

        Raises
        ------
        MakerError
            PAGE-003, the file is no longer the one that was read.
        """
        with self._lock:
            if read_text(self.file) != self._on_disk:
                raise MakerError([_changed_elsewhere(self.file)])
            write_whole(self.file, self.draft.text)
            self._on_disk = self.draft.text
            self.revision += 1

    def reread(self) -> None:
        """Take the file as it is on disk now; the states before it can be undone to."""
        with self._lock:
            text = read_text(self.file)
            self._states.append(self._next(text))
            self._on_disk = text
            self._renew()

    def is_saved(self) -> bool:
        """Return whether the file holds the state that is shown."""
        with self._lock:
            return self.draft.text == self._on_disk

    def at_close(self, act: Callable[[], None]) -> None:
        """Do something more when the program ends."""
        self._closing.append(act)

    def close(self) -> None:
        """Give up whatever goes on, so that the program can end."""
        self.is_closed = True
        for act in self._closing:
            act()

    def _next(self, text: str) -> Kept:
        state = self._read(self._count + 1, text)
        self._count += 1
        return state

    def _renew(self) -> None:
        self.revision += 1
        self._begin()

    def _standing(self) -> dict[str, Any]:
        """Return what every page of a file shows of it, ready for JSON."""
        return {
            "revision": self.revision,
            "number": self.draft.number,
            **self.draft.form.data(),
            "isSaved": self.draft.text == self._on_disk,
            "canUndo": len(self._states) > 1,
            "progress": {"stage": self._progress[0], "share": self._progress[1]},
        }

    def _tell(self, stage: str, share: float) -> None:
        with self._lock:
            self._progress = (stage, share)


def out_of_date() -> Problem:
    """Return what is said of a request that was made of an older state."""
    return Problem(
        "PAGE-002",
        "the page shows an older state of the file",
        "a change to a state that another change has followed",
        "changes to the latest state",
        "load the page again and make the change once more",
    )


def _changed_elsewhere(file: Path) -> Problem:
    return Problem(
        "PAGE-003",
        "the file was changed by somebody else",
        f"{file.name} is no longer what the page has read",
        "a file that only this page changes while it is open",
        'press "Take the file" to go on from what it holds now; your own changes can be undone to, or copied over',
    )
