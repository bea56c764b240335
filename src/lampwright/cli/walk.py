"""The inspection at the command line: from thing to thing, one question at a time, each answer kept at once."""

from __future__ import annotations

import difflib
import shlex
import sys
from collections.abc import Callable, Sequence
from dataclasses import fields, replace
from pathlib import Path

from lampwright.strike import (
    PLACED,
    SOUND,
    TIMED,
    Entry,
    Filling,
    Form,
    FormRow,
    begin_filling,
    hows,
    judge,
    sound_rest,
    tell,
    write_empty,
)
from lampwright.strike.reading import a_sort
from lampwright.units.errors import printable

Ask = Callable[[str], str]
"""Shows a question and returns the answer; raises ``EOFError`` where there is none any more."""

ALL, BACK, STOP = "all", "back", "stop"

HELP = f"""\
  Enter      it is sound, or stays as it was told before
  a way to fail, by its number or its first letters
  {ALL}        the rest of this circuit is sound, what was told of it stays
  {BACK}       to the thing before
  {STOP}       go on another time; everything told is in the file
"""


class StoppedError(Exception):
    """Whoever answers has had enough for now."""


class BackError(Exception):
    """Whoever answers wants to go back from a question about how something failed."""


def ask_here(question: str) -> str:
    """Ask whoever started the program; from a file or a pipe each question still ends its line."""
    answer = input(question)
    if not sys.stdin.isatty():
        print(printable(answer))
    return answer


def walk(piece: Path, path: Path, form: Form, ask: Ask = ask_here) -> bool:
    """Go through a piece from the first thing of which nobody has said anything; return whether all of it is told.

    Raises
    ------
    MakerError
        STRIKE-001, the file that is there can't be read; STRIKE-003, somebody else has changed it meanwhile.
    OSError
        The file can't be written.
    """
    if not path.exists():
        write_empty(path, form)
    way = _Walk(begin_filling(path, form), ask)
    print(f"{len(form.rows)} things to look at; {path} keeps each answer.\n{HELP}")
    try:
        way.go()
    except (EOFError, StoppedError):
        print()
    except KeyboardInterrupt:
        _sum_up(way.filling, piece)
        raise
    return _sum_up(way.filling, piece)


def _sum_up(filling: Filling, piece: Path) -> bool:
    """Tell how far it is, what has failed, and what to type next; return whether all is told."""
    count, untold, failures = len(filling.entries), len(filling.untold()), filling.failures()
    print(f"\n{count - untold} of {count} told, {len(failures)} failed" + (":" if failures else ""))
    for each in failures:
        print(printable(f"  {each.told()}"))
    option = "--inspect" if untold else "--form"
    what = "go on" if untold else "next"
    print(f"{what}: {shlex.join(['lampwright', 'strike', str(piece), option, str(filling.path)])}")
    return not untold


class _Walk:
    """Where the walk has come to."""

    def __init__(self, filling: Filling, ask: Ask) -> None:
        self.filling, self._ask = filling, ask
        self._rows = filling.form.rows
        self._headed: str | None = None

    def go(self) -> None:
        """Ask of one thing after the other, until the last is told."""
        untold = set(self.filling.untold())
        number = next((i for i, row in enumerate(self._rows) if row.key in untold), len(self._rows))
        while number < len(self._rows):
            number = self._after(number)

    def _after(self, number: int) -> int:
        """Ask of one thing; return the number of the thing to ask of next."""
        row = self._rows[number]
        self._head(row)
        told = self.filling.entries[row.key]
        print(printable(f"{number + 1:>3}  {row.thing}") + ("".join(f"; {_said(each)}" for each in told)))
        answer = self._listen(f"     {_ways(row)}: ", lambda text: _one_way(row, text, (ALL, BACK, SOUND)))
        if answer == BACK:
            return max(0, number - 1)
        if answer == ALL:
            circuit = [each.key for each in self._rows[number:] if each.circuit == row.circuit]
            self.filling = tell(self.filling, sound_rest(self.filling, circuit))
            untold = set(self.filling.untold())
            rest = (i for i in range(number + 1, len(self._rows)) if self._rows[i].key in untold)
            return next(rest, len(self._rows))
        if answer in ("", SOUND):
            if answer == SOUND or not self.filling.is_told(row.key):
                kept = sound_rest(self.filling, [row.key]).get(row.key) or [Entry(SOUND)]
                self.filling = tell(self.filling, {row.key: kept})
            return number + 1
        try:
            self._failed(row, answer)
        except BackError:
            return number
        return number + 1

    def _head(self, row: FormRow) -> None:
        if row.circuit != self._headed:
            self._headed = row.circuit
            own = [each for each in self._rows if each.circuit == row.circuit]
            others = "outlets, members" if any(each.sort == "outlet" for each in own) else "members"
            print(f"\n{printable(row.circuit) or f'{others} and what is tied to them'} ({len(own)} things)")

    def _failed(self, row: FormRow, how: str) -> None:
        """Ask all about a thing that failed; each answer is kept as soon as it is given."""
        before = tuple(each for each in self.filling.entries[row.key] if not each.failed)  # notes written beforehand
        while how:
            entry = Entry(how)
            self._keep(row, (*before, entry))
            for name, question in _questions(row):
                entry = self._ask_cell(row, entry, name, question)
                self._keep(row, (*before, entry))
            before = (*before, entry)
            how = self._listen(
                "     something else wrong with it? Enter: no: ", lambda text: _one_way(row, text, (BACK,))
            )
            if how == BACK:
                raise BackError

    def _keep(self, row: FormRow, entries: Sequence[Entry]) -> None:
        self.filling = tell(self.filling, {row.key: entries})

    def _ask_cell(self, row: FormRow, entry: Entry, name: str, question: str) -> Entry:
        def checked(text: str) -> str | _Wrong:
            if text == BACK:
                return text
            faults = judge(row, replace(entry, **{name: text}), self.filling.form)[1]
            return (
                _Wrong("; ".join(f"{each.summary}: {each.allowed}; {each.do}" for each in faults)) if faults else text
            )

        answer = self._listen(f"     {question} ", checked)
        if answer == BACK:
            raise BackError
        return replace(entry, **{name: answer})

    def _listen(self, question: str, read: Callable[[str], str | _Wrong]) -> str:
        """Ask until the answer is one; what is wrong with another is told in one line."""
        while True:
            text = " ".join(self._ask(question).split())
            if text.lower() == STOP:
                raise StoppedError
            answer = read(text.lower() if text.lower() == BACK else text)
            if isinstance(answer, str):
                return answer
            print(printable(f"     {answer.told}"))


class _Wrong:
    """What is wrong with an answer."""

    def __init__(self, told: str) -> None:
        self.told = told


def _ways(row: FormRow) -> str:
    return ", ".join(f"{number} {way}" for number, way in enumerate(hows()[row.sort], 1))


def _one_way(row: FormRow, text: str, words: Sequence[str]) -> str | _Wrong:
    """Return the way to fail that is meant by its number or first letters, or the word itself, or nothing."""
    ways, said = list(hows()[row.sort]), text.lower()
    if said in ("", *words, *ways):
        return said
    if said.isascii() and said.isdigit():
        number = int(said) if len(said) < 5 else 0
        return ways[number - 1] if 1 <= number <= len(ways) else _Wrong(f"there is no {said}: {_ways(row)}")
    meant = [way for way in ways if way.startswith(said)]
    if len(meant) == 1:
        return meant[0]
    if meant:
        return _Wrong(f'"{text}" may be {" or ".join(meant)}: write more of it, or its number')
    near = difflib.get_close_matches(said, [*ways, *words, STOP], n=1, cutoff=0.6)
    do = f'did you mean "{near[0]}"?' if near else f"write {', '.join((*words, STOP))}, Enter, or one of {_ways(row)}"
    return _Wrong(f'"{text}" is no way in which {a_sort(row)} fails; {do}')


def _questions(row: FormRow) -> list[tuple[str, str]]:
    """Return what is asked of a thing of this sort when it failed, by the column of the answer."""
    asked = []
    if row.sort == "strip":
        last = row.first + row.n_pixel - 1
        asked.append(("at", f'where: its pixel, {row.first} to {last}, or a place such as "2.3 m" (Enter: not known):'))
    elif row.sort in PLACED:
        asked.append(("at", 'where along it, such as "0.4 m" (Enter: not known):'))
    if row.sort in TIMED:
        asked.append(("minute", "how many minutes after switching on (Enter: not known):"))
    asked.append(("note", "note (Enter: none):"))
    asked.append(("photo", 'photo beside the piece, such as "photos/arch.jpg" (Enter: none):'))
    return asked


def _said(entry: Entry) -> str:
    """Return what was told of a thing before, in the words of the file."""
    cells = [getattr(entry, each.name) for each in fields(Entry)]
    return printable(", ".join(cell for cell in cells if cell))
