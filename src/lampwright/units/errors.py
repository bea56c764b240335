"""The one base of every error that a maker can cause, and how its text is laid out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Place:
    """A stretch of one line in a text file; line and column count from 1, in characters."""

    file: str
    line: int
    column: int
    length: int
    text: str
    """The whole line, as it stands in the file."""


@dataclass(frozen=True)
class Problem:
    """One thing wrong with what the maker wrote: where, found, allowed, do."""

    code: str
    summary: str
    found: str
    allowed: str
    do: str
    place: Place | None = None

    def render(self) -> str:
        """Return the message as printed, with a caret under the offending text."""
        lines = []
        if self.place is None:
            lines.append(f"error {self.code}: {self.summary}")
        else:
            p = self.place
            lines.append(f"{p.file}:{p.line}:{p.column}: error {self.code}: {self.summary}")
            gutter = f"{p.line:>5} | "
            lines.append(gutter + p.text)
            lines.append(" " * (len(gutter) - 2) + "| " + " " * (p.column - 1) + "^" * max(1, p.length))
        lines.append(f"found:   {self.found}")
        lines.append(f"allowed: {self.allowed}")
        lines.append(f"do:      {self.do}   (lampwright explain {self.code})")
        return "\n".join(lines)


class MakerError(Exception):
    """Something the maker can put right. Carries every problem found, in file order."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__(self.render())

    def render(self) -> str:
        """Return all messages, one blank line between them."""
        return "\n\n".join(problem.render() for problem in self.problems)
