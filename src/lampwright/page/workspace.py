"""The piece as it is being changed on the page: its text, what it draws, what is known of it."""

from __future__ import annotations

import threading
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from lampwright.findings.model import Finding
from lampwright.layout import Layout
from lampwright.page.form import Form, form_of
from lampwright.page.picks import Picks
from lampwright.page.preview import may_flash
from lampwright.page.scene import scene_of
from lampwright.page.states import StaleError, States, While
from lampwright.page.traces import traces_of
from lampwright.piece import piece_from_text
from lampwright.piece.model import Piece
from lampwright.show import CircuitShow, compile_show
from lampwright.signoff import Ready, Report, estimate, get_ready, sign_off_ready

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
    form: Form

    @property
    def piece(self) -> Piece:
        """The piece as the text says it."""
        return self.ready.piece

    @property
    def layout(self) -> Layout:
        """The piece laid out."""
        return self.ready.layout


class Workspace(States[Draft]):
    """A piece file, the state of it that the page shows, and the states before it."""

    def __init__(self, file: Path) -> None:
        super().__init__(file)
        self._report: Report | None = None
        self._is_estimate = False
        self._may_flash = False
        self._is_screened = False
        self._judged: tuple[Piece, tuple[Finding, ...]] | None = None
        self._answered = threading.Event()
        self._begin()

    def shown(self) -> dict[str, Any]:
        """Return everything that the page shows, ready for JSON."""
        with self._lock:
            report = self._report
            return {
                **self._standing(),
                "scene": self.draft.scene,
                "mayFlash": self._may_flash,
                "isScreened": self._is_screened,
                "isEstimate": self._is_estimate,
                "findings": None if report is None else [finding_data(f) for f in report.findings],
                "traces": None if report is None else traces_of(report),
            }

    def findings(self) -> tuple[Finding, ...] | None:
        """Return what was found, or None while frames are still being weighed."""
        with self._lock:
            return None if self._report is None or self._is_estimate else self._report.findings

    def look_again(self) -> None:
        """Compile the state that is shown once more, because one of its looks was written anew."""
        with self._lock:
            self._states[-1] = self._next(self.draft.text)
            self._renew()

    def report(self) -> Report | None:
        """Return what every frame of the state that is shown has told, or None while they are still being weighed."""
        with self._lock:
            return None if self._is_estimate else self._report

    def _read(self, number: int, text: str) -> Draft:
        ready, shows = laid_out(text, self.file)
        form = form_of(text, shows, Picks(ready.piece))
        return Draft(number, text, ready, shows, scene_of(ready.piece, shows), form)

    def _begin(self) -> None:
        """Weigh every frame of the state that is shown, beside everything else."""
        self._report, self._is_screened = None, False
        self._answered = answered = threading.Event()
        threading.Thread(target=self._weighed, args=(self.draft, answered), name="weighing", daemon=True).start()

    def await_answer(self) -> None:
        """Wait a moment for the estimate of the state that is shown, so that it comes with the picture."""
        self._answered.wait(ANSWER_WITHIN)

    def _weighed(self, draft: Draft, answered: threading.Event) -> None:
        """Answer by an estimate first, then by every frame."""

        def is_current() -> bool:
            return self.draft is draft and not self.is_closed

        try:
            standing = self._judged_of(draft.ready.piece)
            self._take(draft, estimate(draft.ready, standing), is_estimate=True)
            answered.set()
            report = sign_off_ready(
                draft.ready, While(is_current, self._tell), standing, lambda found: self._take_screening(draft, found)
            )
        except StaleError:
            return
        finally:
            answered.set()
        self._take(draft, report, is_estimate=False)

    def _judged_of(self, piece: Piece) -> tuple[Finding, ...] | None:
        """Return the findings that need no frame, where nothing but the show differs from the last piece judged."""
        if self._judged is None:
            return None
        judged, findings = self._judged
        return findings if replace(judged, show=piece.show) == piece else None

    def _take_screening(self, draft: Draft, flashes: tuple[Finding, ...]) -> None:
        """Let the page move, or say why not, before faults and all else are judged."""
        with self._lock:
            if self.draft is draft and not self.is_closed:
                self._may_flash, self._is_screened = may_flash(flashes), True
                self.revision += 1

    def _take(self, draft: Draft, report: Report, is_estimate: bool) -> None:
        with self._lock:
            if self.draft is not draft or self.is_closed:
                return
            self._report, self._is_estimate = report, is_estimate
            if not is_estimate:
                standing = tuple(f for f in report.findings if f.code.startswith(STANDING))
                self._judged = (report.piece, standing)
            self.revision += 1


def laid_out(text: str, file: Path) -> tuple[Ready, tuple[CircuitShow, ...]]:
    """Return the piece of a text, ready to be weighed, and what it shows. Raises as ``piece_from_text``."""
    ready = get_ready(piece_from_text(text, file))
    # where no board has room for its circuit, the picture is there all the same
    return ready, ready.shows or compile_show(ready.layout)


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
