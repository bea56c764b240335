"""Gathers the problems of a piece file and puts each at its place."""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Iterable
from dataclasses import dataclass, replace

from lampwright.piece.source import Locations, Path
from lampwright.units import Place, Problem

_LONGEST_LIST = 12  # names shown in a message; more would hide what matters


@dataclass(frozen=True)
class Fault:
    """A problem within one value, before its place in the file is known.

    ``path`` leads further down from the value; ``start`` and ``length`` mark characters within a
    quoted text; ``is_key`` points at the key in front of the value instead.
    """

    problem: Problem
    path: Path = ()
    start: int | None = None
    length: int = 1
    is_key: bool = False


class Report:
    """Collects problems; :meth:`in_file_order` gives them back sorted."""

    def __init__(self, locations: Locations) -> None:
        self.locations = locations
        self._problems: list[Problem] = []

    def at_value(self, path: Path, problem: Problem) -> None:
        """Note a problem with the value at ``path``."""
        self._add(self.locations.value(path), problem)

    def at_key(self, path: Path, problem: Problem) -> None:
        """Note a problem with the key at ``path``."""
        self._add(self.locations.key(path), problem)

    def fault(self, path: Path, fault: Fault) -> None:
        """Note a fault found within the value at ``path``."""
        full = (*path, *fault.path)
        if fault.is_key:
            self.at_key(full, fault.problem)
        elif fault.start is None:
            self.at_value(full, fault.problem)
        else:
            self._add(self.locations.inside(full, fault.start, fault.length), fault.problem)

    def _add(self, place: Place, problem: Problem) -> None:
        self._problems.append(replace(problem, place=place))

    def title(self, path: Path) -> str:
        """Return how the table at ``path`` is called: by its header, or by its key when it has none."""
        header = self.locations.value(path).text.strip().split("#")[0].strip()
        keys = [str(part) for part in path if isinstance(part, str)]
        return header if header.startswith("[") else f'"{keys[-1]}"'

    def in_file_order(self) -> tuple[Problem, ...]:
        """Return the problems sorted by line and column; those of one place in the order they came."""
        return tuple(sorted(self._problems, key=_position))


def _position(problem: Problem) -> tuple[int, int]:
    return (problem.place.line, problem.place.column) if problem.place else (0, 0)


def spoken(raw: object) -> str:
    """Return a value of the file as messages name it."""
    if isinstance(raw, str):
        return f'"{raw}"'
    if isinstance(raw, bool):
        return "true" if raw else "false"
    if isinstance(raw, int | float):
        return f"the number {raw}"
    if isinstance(raw, datetime.datetime | datetime.time):
        return f"the time {raw}"
    if isinstance(raw, datetime.date):
        return f"the date {raw}"
    if isinstance(raw, list):
        return f"a list of {len(raw)} values"
    if isinstance(raw, dict):
        return "a table"
    raise AssertionError(f"TOML has no such value: {raw!r}")


def did_you_mean(found: str, names: Iterable[str], otherwise: str) -> str:
    """Return what to do about a name that isn't among ``names``."""
    nearest = difflib.get_close_matches(found, list(names), n=1, cutoff=0.55)
    return f'did you mean "{nearest[0]}"?' if nearest else otherwise


def quoted_list(names: Iterable[str]) -> str:
    """Return names in quotes with commas between; a long list is cut short."""
    shown = list(names)
    hidden = len(shown) - _LONGEST_LIST
    texts = [f'"{name}"' for name in (shown[:_LONGEST_LIST] if hidden > 1 else shown)]
    return ", ".join(texts) + (f" and {hidden} more" if hidden > 1 else "")
