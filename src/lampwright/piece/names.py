"""Names that are taken already."""

from __future__ import annotations

from collections.abc import Iterable

from lampwright.piece.report import Report
from lampwright.piece.source import Path
from lampwright.units import Problem


class NamesTaken:
    """The names of one sort of thing, such as "member", and who was first to take each."""

    def __init__(self, noun: str, report: Report) -> None:
        self._noun = noun
        self._report = report
        self._by_looks: dict[str, str] = {}

    def take(self, names: Iterable[str], path: Path) -> bool:
        """Take names for the entry whose name is at ``path``; report it and return False if one is taken."""
        wanted = {_looks(name): name for name in names}
        for looks, name in wanted.items():
            if looks in self._by_looks:
                self._report.at_value(path, _name_taken(self._noun, name, self._by_looks[looks]))
                return False
        self._by_looks.update(wanted)
        return True


def _looks(name: str) -> str:
    """Return a name as file names may show it, where case, spaces, "-" and "_" can be lost."""
    return " ".join(name.casefold().replace("-", " ").replace("_", " ").split())


def _name_taken(noun: str, name: str, taken: str) -> Problem:
    return Problem(
        code="PIECE-010",
        summary=f'there is already a {noun} named "{taken}"',
        found=f'"{name}"',
        allowed='a name of its own for each, different in more than case, spaces, "-" and "_"',
        do="rename one of the two",
    )
