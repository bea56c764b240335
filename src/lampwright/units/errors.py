"""The one base of every error that a maker can cause, and how its text is laid out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

LONGEST_LINE = 160
"""Characters of a file's line that a message shows."""

LONGEST_TEXT = 240
"""Characters of what a maker wrote that a message repeats; what is allowed is listed whole."""

_CONTROL_PICTURES = 0x2400  # Unicode's block of signs for control characters, in their order


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
        summary = _clipped(self.summary)
        if self.place is None:
            lines.append(f"error {self.code}: {summary}")
        else:
            place = self.place
            lines.append(f"{_clipped(place.file)}:{place.line}:{place.column}: error {self.code}: {summary}")
            lines += _marked(place)
        lines.append(f"found:   {_clipped(self.found)}")
        lines.append(f"allowed: {printable(self.allowed)}")
        lines.append(f"do:      {printable(self.do)}   (lampwright explain {self.code})")
        return "\n".join(lines)


def _marked(place: Place) -> list[str]:
    """Return the line of the file and the carets below it; of a very long line the part around the carets."""
    before = after = ""
    text, column, length = place.text, place.column - 1, max(1, place.length)
    if len(text) > LONGEST_LINE:
        first = max(0, column - LONGEST_LINE // 2)
        before = "…" if first else ""
        after = "…" if first + LONGEST_LINE < len(text) else ""
        text = text[first : first + LONGEST_LINE]
        length = max(1, min(length, first + len(text) - column))
        column += len(before) - first
    gutter = f"{place.line:>5} | "
    return [
        gutter + before + printable(text) + after,
        " " * (len(gutter) - 2) + "| " + " " * column + "^" * length,
    ]


def _clipped(text: str) -> str:
    """Return what a maker wrote fit to be printed, a very long text cut short."""
    hidden = len(text) - LONGEST_TEXT
    return printable(text) if hidden <= 0 else f"{printable(text[:LONGEST_TEXT])}… and {hidden} characters more"


def printable(text: str) -> str:
    """Return the text with a visible sign, one character wide, for each that a terminal would obey or not show.

    A file from a stranger must not be able to recolour the terminal or hide what a message says.
    """
    return text if text.isprintable() else "".join(c if c.isprintable() else _sign(c) for c in text)


def _sign(character: str) -> str:
    if character < " ":
        return chr(_CONTROL_PICTURES + ord(character))
    return "␣" if character.isspace() else "\N{REPLACEMENT CHARACTER}"


class MakerError(Exception):
    """Something the maker can put right. Carries every problem found, in file order."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__(self.render())

    def render(self) -> str:
        """Return all messages, one blank line between them."""
        return "\n\n".join(problem.render() for problem in self.problems)
