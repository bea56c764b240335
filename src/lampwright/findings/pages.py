"""The page behind each stable code: one text for the terminal, ``explain`` and ``docs/checks/``."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from functools import cache
from importlib import resources

from lampwright.units import MakerError, Problem

HEADINGS = ("What is checked", "Formula", "Source", "Example", "What to do")
"""In this order; only "Formula" may be left out."""

_TITLE = re.compile(r"# ([A-Z]+-\d{3}) ([a-z0-9]+(?:-[a-z0-9]+)*)")
_FILE = re.compile(r"[A-Z]+-\d{3}\.md")


class PageFormError(AssertionError):
    """A page isn't laid out as all pages are: our fault, never the maker's."""


@dataclass(frozen=True)
class Page:
    """One code's page, taken apart."""

    code: str
    """Such as "POWER-002"."""
    fault: str
    """The fault's name, such as "pack-overdrawn"."""
    summary: str
    checked: str
    formula: str
    """Empty where nothing is computed."""
    source: str
    example: str
    do: str
    text: str
    """The whole page, as written."""


def explain(name: str) -> Page:
    """Return the page of a code or of a fault's name, in capitals or not; "power 3" is POWER-003.

    Raises
    ------
    MakerError
        FINDING-001 with the nearest code, when there is no such page.
    """
    wanted = re.sub(r"^([a-z]+)[- _]?(\d+)$", lambda code: f"{code[1]}-{int(code[2]):03}", name.strip().lower())
    pages = load_pages()
    for page in pages.values():
        if wanted in (page.code.lower(), page.fault):
            return page
    names = [*pages, *(page.fault for page in pages.values())]
    by_lower = {text.lower(): text for text in names}
    nearest = difflib.get_close_matches(wanted, by_lower, n=1, cutoff=0.5)
    do = f'did you mean "{by_lower[nearest[0]]}"?' if nearest else "take the code from the message or the table"
    raise MakerError(
        [
            Problem(
                code="FINDING-001",
                summary=f'there is no check "{name}"',
                found=f'"{name}"',
                allowed='a code such as "PIECE-003", or the name of its fault',
                do=do,
            )
        ]
    )


def codes() -> tuple[str, ...]:
    """Return all codes that have a page, sorted."""
    return tuple(load_pages())


@cache
def load_pages() -> dict[str, Page]:
    """Return all pages by code; their files are read once."""
    folder = resources.files("lampwright.findings").joinpath("pages")
    files = sorted((entry for entry in folder.iterdir() if _FILE.fullmatch(entry.name)), key=lambda entry: entry.name)
    pages = [read_page(entry.read_text(encoding="utf-8")) for entry in files]
    return {page.code: page for page in pages}


def read_page(text: str) -> Page:
    """Take a page apart.

    Raises
    ------
    PageFormError
        A heading is missing, unknown, out of order or empty.
    """
    head, *sections = re.split(r"^## ", text, flags=re.MULTILINE)
    title, _, summary = head.partition("\n")
    match = _TITLE.fullmatch(title)
    if match is None:
        raise PageFormError(f'the first line must be "# CODE name-of-the-fault", not "{title}"')
    bodies: dict[str, str] = {}
    for section in sections:
        heading, _, body = section.partition("\n")
        bodies[heading.strip()] = body.strip()
    expected = tuple(heading for heading in HEADINGS if heading in bodies or heading != "Formula")
    if tuple(bodies) != expected:
        raise PageFormError(f"{match[1]}: headings must be {expected}, not {tuple(bodies)}")
    if not summary.strip() or not all(bodies.values()):
        raise PageFormError(f"{match[1]}: the summary or a section is empty")
    return Page(
        code=match[1],
        fault=match[2],
        summary=summary.strip(),
        checked=bodies["What is checked"],
        formula=bodies.get("Formula", ""),
        source=bodies["Source"],
        example=bodies["Example"],
        do=bodies["What to do"],
        text=text,
    )
