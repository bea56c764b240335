"""The form while it is being filled: a CSV file that is written whole after each answer, and never over another's."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from lampwright.strike.form import COLUMNS, SOUND, Entries, Entry, Form, FormFailure, Thing, form_csv
from lampwright.strike.reading import failures_of, read_entries, tidied
from lampwright.units import MakerError, Problem
from lampwright.written import write_whole

CODE = "STRIKE-003"


@dataclass(frozen=True)
class Filling:
    """A form as far as it is filled; each answer makes another."""

    path: Path
    form: Form
    entries: Mapping[Thing, tuple[Entry, ...]]
    """Of every thing of the form, in its order."""
    digest: str
    """Of the file; empty where there is none yet."""

    def is_told(self, thing: Thing) -> bool:
        """Return whether somebody has said of a thing that it is sound, or how it failed."""
        return any(entry.failed for entry in self.entries[thing])

    def untold(self) -> tuple[Thing, ...]:
        """Return of which things nobody has said anything yet."""
        return tuple(thing for thing in self.entries if not self.is_told(thing))

    def failures(self) -> tuple[FormFailure, ...]:
        """Return what has failed so far."""
        return failures_of(self.form, self.entries)


def form_beside(piece_file: Path) -> Path:
    """Return where the page keeps the form of a piece: beside it, called after it."""
    return piece_file.with_name(f"{piece_file.stem}-inspection.csv")


def begin_filling(path: Path, form: Form) -> Filling:
    """Return the form as the file has it; one that is not there yet is empty.

    Raises
    ------
    MakerError
        STRIKE-001 with all that can't be read, each at its line and column.
    """
    digest = _digest_of(path)
    entries = read_entries(path, form) if digest else {row.key: () for row in form.rows}
    return Filling(path, form, entries, digest)


def tell(filling: Filling, told: Entries) -> Filling:
    """Write the form with what was said of some things in place of what it said of them before.

    The entries are ones in which :func:`lampwright.strike.reading.judge` finds no fault.

    Raises
    ------
    MakerError
        STRIKE-003: the file is no longer what was read; it is left as it is.
    OSError
        It can't be written; it is left as it is.
    """
    entries = {**filling.entries, **{thing: tidied(each) for thing, each in told.items()}}
    return _written(replace(filling, entries=entries), filling.digest)


def sound_rest(filling: Filling, things: Sequence[Thing]) -> dict[Thing, tuple[Entry, ...]]:
    """Return what to tell so that all of these things that nobody has spoken of are sound; notes on them stay."""
    silent = [thing for thing in things if not filling.is_told(thing)]
    return {
        thing: tuple(replace(each, failed=SOUND) for each in filling.entries[thing]) or (Entry(SOUND),)
        for thing in silent
    }


def write_empty(path: Path, form: Form) -> None:
    """Write the form with nothing filled in, but never over one in which something is.

    Raises
    ------
    MakerError
        STRIKE-003: something else stands there; it is left as it is.
    """
    if path.exists() and not _is_empty(path.read_bytes()):
        raise MakerError([_in_the_way(path)])
    write_whole(path, form_csv(form.rows))


def _is_empty(content: bytes) -> bool:
    """Return whether this is a form in which nobody has filled in anything."""
    rows = list(csv.reader(io.StringIO(content.decode("utf-8-sig", "replace"))))
    first = COLUMNS.index("failed")
    return not rows or (tuple(rows[0]) == COLUMNS and not any(cell.strip() for row in rows[1:] for cell in row[first:]))


def set_aside(filling: Filling) -> Path:
    """Move a form out of the way, so that the next inspection begins anew; return where it is kept.

    Raises
    ------
    MakerError
        STRIKE-003: the file is no longer what was read.
    """
    _ensure_unchanged(filling.path, filling.digest)
    number = 1
    while (kept := filling.path.with_name(f"{filling.path.stem}-{number}.csv")).exists():
        number += 1
    filling.path.rename(kept)
    return kept


def _written(filling: Filling, digest: str) -> Filling:
    _ensure_unchanged(filling.path, digest)
    text = form_csv(filling.form.rows, filling.entries)
    write_whole(filling.path, text)
    return replace(filling, digest=hashlib.sha256(text.encode()).hexdigest())


def _ensure_unchanged(path: Path, digest: str) -> None:
    if _digest_of(path) != digest:
        raise MakerError([_changed_elsewhere(path)])


def _digest_of(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.exists() else ""


def _changed_elsewhere(path: Path) -> Problem:
    return Problem(
        CODE,
        "the form was changed by somebody else",
        f"{path.name} is no longer what was read",
        "a form that one program, or one page, fills at a time",
        "take the form once more as it is now, and say the last thing again",
    )


def _in_the_way(path: Path) -> Problem:
    return Problem(
        CODE,
        "a form that is filled in already stands there",
        str(path),
        "a place with no form, or with an empty one",
        f"go on with it by --inspect {path}, or read it by --form {path}; for another one name another --out",
    )
