"""The piece as it is being changed on the page: its text, what it draws, what is known of it.

A change is first made in memory and read like a file; what can't be read changes nothing. The file on
disk is written only when the maker says so, and never over a change that somebody else made to it.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lampwright.findings.model import Finding
from lampwright.layout import Layout, lay_out
from lampwright.page.fields import Field, Step, changed, fields_of
from lampwright.page.preview import may_flash
from lampwright.page.scene import scene_of
from lampwright.page.traces import traces_of
from lampwright.piece import piece_from_text
from lampwright.piece.model import Piece
from lampwright.piece.toml import read_text
from lampwright.show import CircuitShow, compile_show
from lampwright.signoff import Report, sign_off
from lampwright.units.errors import MakerError, Problem
from lampwright.written import write_whole


@dataclass(frozen=True, eq=False)
class Draft:
    """One state of the piece: its text, and what the page draws of it."""

    number: int
    """Counts every state that there was; undone ones keep their number."""
    text: str
    piece: Piece
    layout: Layout
    shows: tuple[CircuitShow, ...]
    scene: dict[str, Any]
    fields: tuple[Field, ...]


class StaleError(Exception):
    """Weighing goes on for a state that is no longer shown."""


class _While:
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


class Workspace:
    """A piece file, the state of it that the page shows, and the states before it."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self._lock = threading.RLock()
        self._on_disk = read_text(file)
        self._count = 0
        self._states = [self._draft(self._on_disk)]
        self._report: Report | None = None
        self._progress: tuple[str, float] = ("", 0.0)
        self._is_closed = False
        self.revision = 0
        """Goes up whenever anything that the page shows has changed."""
        self._weigh()

    @property
    def draft(self) -> Draft:
        """The state that is shown."""
        return self._states[-1]

    def state(self, number: int) -> Draft:
        """Return the state that is shown, when that is its number.

        Raises
        ------
        MakerError
            PAGE-002, it is no longer the one shown.
        """
        draft = self.draft
        if number != draft.number:
            raise MakerError([_out_of_date()])
        return draft

    def shown(self) -> dict[str, Any]:
        """Return everything that the page shows, ready for JSON."""
        with self._lock:
            report, draft = self._report, self.draft
            return {
                "revision": self.revision,
                "number": draft.number,
                "scene": draft.scene,
                "fields": [field.data() for field in draft.fields],
                "isSaved": draft.text == self._on_disk,
                "canUndo": len(self._states) > 1,
                "progress": {"stage": self._progress[0], "share": self._progress[1]},
                "mayFlash": report is not None and may_flash(report.findings),
                "findings": None if report is None else [finding_data(f) for f in report.findings],
                "traces": None if report is None else traces_of(report),
            }

    def findings(self) -> tuple[Finding, ...] | None:
        """Return what was found, or None while frames are still being weighed."""
        with self._lock:
            return None if self._report is None else self._report.findings

    def progress(self) -> dict[str, Any]:
        """Return how far the weighing of all frames is."""
        with self._lock:
            return {"revision": self.revision, "stage": self._progress[0], "share": self._progress[1]}

    def change(self, number: int, path: tuple[Step, ...], value: str) -> None:
        """Write another value at ``path`` of state ``number``, as the piece file would say it.

        Raises
        ------
        MakerError
            The state is no longer the one shown (PAGE-002), or the piece can't be read with this value.
        """
        with self._lock:
            field = next((field for field in self.draft.fields if field.path == path), None)
            if number != self.draft.number or field is None:
                raise MakerError([_out_of_date()])
            self._states.append(self._draft(changed(self.draft.text, field, value)))
            self._renew()

    def undo(self) -> None:
        """Go back by one state, where there is one."""
        with self._lock:
            if len(self._states) > 1:
                self._states.pop()
                self._renew()

    def save(self) -> None:
        """Write the state that is shown to the piece file.

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
            self._states.append(self._draft(text))
            self._on_disk = text
            self._renew()

    def look_again(self) -> None:
        """Compile the state that is shown once more, because one of its looks was written anew."""
        with self._lock:
            self._states[-1] = self._draft(self.draft.text)
            self._renew()

    def close(self) -> None:
        """Give up the weighing, so that the program can end."""
        self._is_closed = True

    def _draft(self, text: str) -> Draft:
        piece = piece_from_text(text, self.file)
        layout = lay_out(piece)
        shows = compile_show(layout)
        self._count += 1
        return Draft(self._count, text, piece, layout, shows, scene_of(piece, shows), fields_of(text))

    def _renew(self) -> None:
        self.revision += 1
        self._report = None
        self._weigh()

    def _weigh(self) -> None:
        """Weigh every frame of the state that is shown, beside everything else."""
        threading.Thread(target=self._weighed, args=(self.draft,), name="weighing", daemon=True).start()

    def _weighed(self, draft: Draft) -> None:
        def is_current() -> bool:
            return self.draft is draft and not self._is_closed

        def tell(stage: str, share: float) -> None:
            with self._lock:
                self._progress = (stage, share)

        try:
            report = sign_off(draft.piece, _While(is_current, tell))
        except StaleError:
            return
        with self._lock:
            if is_current():
                self._report = report
                self.revision += 1


def finding_data(finding: Finding) -> dict[str, Any]:
    """Return a finding ready for JSON."""
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "subject": finding.subject,
        "summary": finding.summary,
        "value": finding.value,
        "limit": finding.limit,
        "margin": finding.margin,
        "do": finding.do,
        "basis": finding.basis,
        "moment": finding.moment,
    }


def _out_of_date() -> Problem:
    return Problem(
        "PAGE-002",
        "the page shows an older state of the piece",
        "a change to a state that another change has followed",
        "changes to the latest state",
        "load the page again and make the change once more",
    )


def _changed_elsewhere(file: Path) -> Problem:
    return Problem(
        "PAGE-003",
        "the piece file was changed by somebody else",
        f"{file.name} is no longer what the page has read",
        "a file that only this page changes while it is open",
        'press "Take the file" to go on from what it holds now; your own changes can be undone to, or copied over',
    )
