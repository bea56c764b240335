"""The piece as it is being changed on the page: its text, what it draws, what is known of it.

A change is first made in memory and read like a file; what can't be read changes nothing. The file on
disk is written only when the maker says so, and never over a change that somebody else made to it.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from lampwright.findings.model import Finding
from lampwright.layout import Layout
from lampwright.page.fields import Field, Step, changed, fields_of
from lampwright.page.preview import may_flash
from lampwright.page.scene import scene_of
from lampwright.page.traces import traces_of
from lampwright.piece import piece_from_text
from lampwright.piece.model import Piece
from lampwright.piece.toml import read_text
from lampwright.show import CircuitShow, compile_show
from lampwright.signoff import Ready, Report, estimate, get_ready, sign_off_ready
from lampwright.units.errors import MakerError, Problem
from lampwright.written import write_whole

ANSWER_WITHIN = 0.2
"""A change answers with its findings where they are there by then; else they follow. [s]"""


STANDING = ("FAULT", "RIGGING")
"""Beginnings of the codes that no frame has a part in."""


@dataclass(frozen=True, eq=False)
class Draft:
    """One state of the piece: its text, and what the page draws of it."""

    number: int
    """Counts every state that there was; undone ones keep their number."""
    text: str
    ready: Ready
    shows: tuple[CircuitShow, ...]
    scene: dict[str, Any]
    fields: tuple[Field, ...]

    @property
    def piece(self) -> Piece:
        """The piece as the text says it."""
        return self.ready.piece

    @property
    def layout(self) -> Layout:
        """The piece laid out."""
        return self.ready.layout


class StaleError(Exception):
    """Weighing goes on for a state that is no longer shown."""


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


class Workspace:
    """A piece file, the state of it that the page shows, and the states before it."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self._lock = threading.RLock()
        self._on_disk = read_text(file)
        self._count = 0
        self._states = [self._draft(self._on_disk)]
        self._report: Report | None = None
        self._is_estimate = False
        self._may_flash = False
        self._standing: tuple[Piece, tuple[Finding, ...]] | None = None
        self._answered = threading.Event()
        self._progress: tuple[str, float] = ("", 0.0)
        self.is_closed = False
        self._closing: list[Callable[[], None]] = []
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
                "mayFlash": self._may_flash,
                "isEstimate": self._is_estimate,
                "findings": None if report is None else [finding_data(f) for f in report.findings],
                "traces": None if report is None else traces_of(report),
            }

    def findings(self) -> tuple[Finding, ...] | None:
        """Return what was found, or None while frames are still being weighed."""
        with self._lock:
            return None if self._report is None or self._is_estimate else self._report.findings

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

    def report(self) -> Report | None:
        """Return what every frame of the state that is shown has told, or None while they are still being weighed."""
        with self._lock:
            return None if self._is_estimate else self._report

    def is_saved(self) -> bool:
        """Return whether the piece file holds the state that is shown."""
        with self._lock:
            return self.draft.text == self._on_disk

    def at_close(self, act: Callable[[], None]) -> None:
        """Do something more when the program ends."""
        self._closing.append(act)

    def close(self) -> None:
        """Give up the weighing and whatever else goes on, so that the program can end."""
        self.is_closed = True
        for act in self._closing:
            act()

    def _draft(self, text: str) -> Draft:
        ready = get_ready(piece_from_text(text, self.file))
        # where no board has room for its circuit, the picture is there all the same
        shows = ready.shows or compile_show(ready.layout)
        self._count += 1
        return Draft(self._count, text, ready, shows, scene_of(ready.piece, shows), fields_of(text))

    def _renew(self) -> None:
        self.revision += 1
        self._report = None
        self._weigh()

    def await_answer(self) -> None:
        """Wait a moment for the estimate of the state that is shown, so that it comes with the picture."""
        self._answered.wait(ANSWER_WITHIN)

    def _weigh(self) -> None:
        """Weigh every frame of the state that is shown, beside everything else."""
        self._answered = answered = threading.Event()
        threading.Thread(target=self._weighed, args=(self.draft, answered), name="weighing", daemon=True).start()

    def _weighed(self, draft: Draft, answered: threading.Event) -> None:
        """Answer by an estimate first, then by every frame."""

        def is_current() -> bool:
            return self.draft is draft and not self.is_closed

        def tell(stage: str, share: float) -> None:
            with self._lock:
                self._progress = (stage, share)

        try:
            self._take(draft, estimate(draft.ready, self._standing_of(draft.ready.piece)), is_estimate=True)
            answered.set()
            report = sign_off_ready(draft.ready, While(is_current, tell))
        except StaleError:
            return
        finally:
            answered.set()
        self._take(draft, report, is_estimate=False)

    def _standing_of(self, piece: Piece) -> tuple[Finding, ...] | None:
        """Return the findings that need no frame, where nothing but the show differs from the last piece judged."""
        if self._standing is None:
            return None
        judged, findings = self._standing
        return findings if replace(judged, show=piece.show) == piece else None

    def _take(self, draft: Draft, report: Report, is_estimate: bool) -> None:
        with self._lock:
            if self.draft is not draft or self.is_closed:
                return
            self._report, self._is_estimate = report, is_estimate
            if not is_estimate:
                self._may_flash = may_flash(report.findings)
                standing = tuple(f for f in report.findings if f.code.startswith(STANDING))
                self._standing = (report.piece, standing)
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
