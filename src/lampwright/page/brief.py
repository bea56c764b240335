"""A brief as it is being changed on the page, and the search for first designs that follows each change."""

from __future__ import annotations

import datetime
import re
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lampwright.making.lists import ShelfRow
from lampwright.page.answers import problem_data
from lampwright.page.form import Form, form_of
from lampwright.page.offers import offers_of
from lampwright.page.picks import Picks
from lampwright.page.states import StaleError, States, While, out_of_date
from lampwright.page.workspace import Workspace
from lampwright.parts import Offer
from lampwright.piece.model import Brief
from lampwright.propose import (
    Asked,
    Candidate,
    Proposal,
    Setting,
    brief_from_text,
    brief_keys_of,
    free_path,
    members_of,
    piece_file_name,
    propose,
    write_candidate,
)
from lampwright.units.errors import MakerError, Problem

_FILE_NAME = re.compile(r"\w[\w .-]{0,79}\.toml")


@dataclass(frozen=True)
class Lists:
    """The maker's own lists, which every search of the page goes by."""

    shelf: tuple[ShelfRow, ...] = ()
    shop: tuple[Offer, ...] = ()


@dataclass(frozen=True, eq=False)
class BriefState:
    """One state of the brief."""

    number: int
    text: str
    asked: Asked
    brief: Brief
    form: Form


@dataclass(frozen=True, eq=False)
class Answer:
    """What was found for one text of the brief."""

    number: int
    """Counts every answer that there was."""
    asked: Asked
    proposal: Proposal
    text: str


class BriefStates(States[BriefState]):
    """A brief file, the state of it that the page shows, and what the last search has found."""

    def __init__(self, file: Path, lists: Lists | None = None) -> None:
        self._lists = lists or Lists()
        super().__init__(file)
        self._one_at_a_time = threading.Lock()
        self._search: object | None = None
        """Stands for the search whose answer is wanted."""
        self._answers: dict[str, Answer] = {}
        self._answer: Answer | None = None
        self._problems: tuple[Problem, ...] = ()
        self._written: list[Workspace] = []
        self._begin()

    def shown(self) -> dict[str, Any]:
        """Return everything that the page shows, ready for JSON."""
        with self._lock:
            brief, answer = self.draft.brief, self._answer
            return {
                **self._standing(),
                "name": brief.name,
                "place": brief.place,
                "date": brief.date.isoformat(),
                "isSearching": self._search is not None,
                "problems": [problem_data(each) for each in self._problems],
                "answer": None
                if answer is None
                else {
                    "number": answer.number,
                    "isOld": answer.text != self.draft.text,
                    **offers_of(answer.proposal),
                },
                "fileName": free_path(self.file.parent, piece_file_name(brief.name)).name,
                "written": [workspace.file.name for workspace in self._written],
            }

    def search_again(self) -> None:
        """Search for the state that is shown, unless that goes on already or its answer is there."""
        with self._lock:
            if self._search is None and self.draft.text not in self._answers:
                self._renew()

    def stop(self) -> None:
        """Give up the search that goes on."""
        with self._lock:
            self._search = None
            self._progress = ("", 0.0)
            self.revision += 1

    def answer(self, number: int) -> Answer:
        """Return the answer that is shown, when that is its number.

        Raises
        ------
        MakerError
            PAGE-002, it is no longer the one shown.
        """
        answer = self._answer
        if answer is None or answer.number != number:
            raise MakerError([out_of_date()])
        return answer

    def candidate(self, number: int, candidate: int) -> tuple[Answer, Candidate]:
        """Return the answer of this number, and one of its candidates, counted from 1; raises as :meth:`answer`."""
        answer = self.answer(number)
        if not 1 <= candidate <= len(answer.proposal.candidates):
            raise MakerError([out_of_date()])
        return answer, answer.proposal.candidates[candidate - 1]

    def write(self, number: int, candidate: int, name: str) -> int:
        """Write a candidate's piece file beside the brief, and open it: the number of its page, counted from 1.

        Raises
        ------
        MakerError
            The answer is no longer the one shown, or is one to an older state of the brief (PAGE-002); PROPOSE-003,
            the name is none for a file, there is such a file already, or it can't be written.
        """
        with self._lock:
            answer, chosen = self.candidate(number, candidate)
            if answer.text != self.draft.text:
                raise MakerError([out_of_date()])
            if not _FILE_NAME.fullmatch(name):
                summary, allowed = "this is no name for a piece file", "letters, digits, - and _, then .toml"
                raise MakerError([Problem("PROPOSE-003", summary, name, allowed, 'write one such as "garden.toml"')])
            other = free_path(self.file.parent, name).name
            try:
                write_candidate(chosen, self.file.parent / name, f'write another name, such as "{other}"')
            except OSError as error:
                summary = f"the file can't be written: {error.strerror or 'unknown reason'}"
                allowed, do = "a folder that you may write to", "free the folder, or open a copy of the brief elsewhere"
                raise MakerError([Problem("PROPOSE-003", summary, name, allowed, do)]) from error
            workspace = Workspace(self.file.parent / name)
            self.at_close(workspace.close)
            self._written.append(workspace)
            self.revision += 1
            return len(self._written)

    def written(self, number: int) -> Workspace | None:
        """Return the piece of a page, by its number counted from 1."""
        return self._written[number - 1] if 1 <= number <= len(self._written) else None

    def _read(self, number: int, text: str) -> BriefState:
        asked = brief_from_text(text, self.file)
        piece = members_of(self._setting(asked))
        return BriefState(number, text, asked, piece.brief, form_of(text, (), Picks(piece), brief_keys_of))

    def _setting(self, asked: Asked) -> Setting:
        return Setting(asked, self._lists.shelf, self._lists.shop)

    def _begin(self) -> None:
        """Show the answer where it is known; else search, and give up the search before."""
        self._problems, self._progress, self._search = (), ("", 0.0), None
        known = self._answers.get(self.draft.text)
        if known is not None:
            self._answer = known
            return
        self._search = search = object()
        threading.Thread(target=self._run, args=(self.draft, search), name="searching", daemon=True).start()

    def _run(self, state: BriefState, search: object) -> None:
        def is_wanted() -> bool:
            return self._search is search and not self.is_closed

        try:
            with self._one_at_a_time:  # the one before ends at its next step
                progress = While(is_wanted, self._tell_while(is_wanted))
                progress.begin("search", 1)
                proposal = propose(self._setting(state.asked), progress, datetime.date.today())
        except StaleError:
            return
        except MakerError as error:
            self._end(search, error.problems, None)
        else:
            self._end(search, (), (state, proposal))
        finally:
            self._end(search, (), None)

    def _tell_while(self, is_wanted: Callable[[], bool]) -> Callable[[str, float], None]:
        def tell(stage: str, share: float) -> None:
            if is_wanted():
                self._tell(stage, share)

        return tell

    def _end(self, search: object, problems: tuple[Problem, ...], found: tuple[BriefState, Proposal] | None) -> None:
        """Take what a search has found, if it is still wanted; once it is taken it isn't any more."""
        with self._lock:
            if self._search is not search:
                return
            self._search, self._progress, self._problems = None, ("", 0.0), problems
            if found is not None:
                state, proposal = found
                self._answer = Answer(len(self._answers) + 1, state.asked, proposal, state.text)
                self._answers[state.text] = self._answer
            self.revision += 1
