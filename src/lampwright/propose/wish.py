"""Read a brief: the head of a piece file, and one table ``[wish]`` in place of circuits and show."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field, TypeAdapter, ValidationError

from lampwright.look.source import Value
from lampwright.piece.choices import Settings
from lampwright.piece.fields import Choice, LookName, Name, Quantity, Text, Whole
from lampwright.piece.measures import TABLE, read_measures, with_measures
from lampwright.piece.report import Report, did_you_mean, quoted_list
from lampwright.piece.schema import Table, ZigzagEntry
from lampwright.piece.source import locate
from lampwright.piece.toml import parse_toml, read_text
from lampwright.piece.wording import report_errors, unknown_key
from lampwright.units import MakerError, Problem

WRITTEN = ("circuit", "show", "cue")
"""Tables that a design writes, so that a brief has none of them."""

KEPT = ("brief", "measures", "member", "allowances", "work", "standby")

_HEADER = re.compile(r"^\s*\[+\s*([A-Za-z_-]+)")


class GarlandEntry(Table):
    sag: Annotated[float, Quantity('"0.1 m"', "length", above="0 m", most="1 km").field()]
    point: Annotated[str, Text('"crown"').field()] = "crown"
    weak_link: Annotated[float | None, Quantity('"18 N"', "force", above="0 N", most="100 kN").field()] = None


class WishEntry(Table):
    on: Annotated[str, Name('"arch"').field()]
    bare_start: Annotated[float, Quantity('"0.4 m"', "length", least="0 m", most="1 km").field()] = 0.0
    bare_end: Annotated[float, Quantity('"0.4 m"', "length", least="0 m", most="1 km").field()] = 0.0
    spiral: Annotated[float | None, Quantity('"20 cm"', "length", above="0 m", most="100 m").field()] = None
    zigzag: ZigzagEntry | None = None
    garland: GarlandEntry | None = None
    look: Annotated[str | None, LookName('"slow-ice"').field()] = None
    set: Annotated[dict[str, Value], Settings('{ pace = "0.2 /s" }').field()] = Field(default_factory=dict)
    seen_from: Annotated[float, Quantity('"20 m"', "length", above="0 m", most="10 km").field()]
    surroundings: Annotated[str, Choice('"dark park"', ("dark park", "lit street")).field()]
    brightness: Annotated[float, Quantity('"10 %"', "share", above="0 %", most="100 %").field()] = 0.01
    pitch: Annotated[float | None, Quantity('"20 mm"', "length", above="0 m", most="10 m").field()] = None
    odds: Annotated[float, Quantity('"95 %"', "share", least="0 %", most="100 %").field()] = 0.0
    packs: Annotated[int, Whole("1", 1, 2).field()] = 2


@dataclass(frozen=True)
class Asked:
    """A brief as read: its text with ``[wish]`` as comments, so that every line keeps its number, and its wish."""

    file: Path
    name: str
    """Of the piece, as far as it can be read; the rest of the brief may still be wrong."""
    head: str
    wish: WishEntry
    wish_text: Mapping[str, Any]
    """The wish as written, formulas in it, to be written into designs unchanged."""


def read_brief(path: Path) -> Asked:
    """Return what a brief file asks for.

    Raises
    ------
    MakerError
        With every problem of ``[wish]``, and of tables that don't belong there, each at its line and column. What is
        wrong with the other tables is told when the first design is read.
    """
    return brief_from_text(read_text(path), path)


def brief_from_text(text: str, path: Path) -> Asked:
    """Return what ``text`` asks for; ``path`` is the file that messages name. Raises as :func:`read_brief`."""
    text = text if text.endswith("\n") else text + "\n"
    raw = parse_toml(text, str(path))
    report = Report(locate(text, str(path)))
    for key in raw:
        if key in WRITTEN:
            report.at_key((key,), _written_by_us(key))
        elif key not in (*KEPT, "wish"):
            report.at_key((key,), unknown_key(key, (*KEPT, "wish"), "a brief"))
    entry = _read_wish(raw, report)
    if entry is not None:
        _check_on(entry, raw, report)
    if problems := report.in_file_order():
        raise MakerError(problems)
    assert entry is not None
    brief = raw.get("brief")
    name = brief.get("name") if isinstance(brief, dict) else None
    return Asked(path, name if isinstance(name, str) else "", _commented(text, raw, report), entry, raw["wish"])


def _read_wish(raw: Mapping[str, Any], report: Report) -> WishEntry | None:
    if "wish" not in raw:
        report.at_value((), _no_wish())
        return None
    if not isinstance(raw["wish"], dict):
        report.at_key(("wish",), _no_wish())
        return None
    # measures at fault are reported by whoever reads the whole file
    wish = with_measures(raw["wish"], read_measures(raw.get(TABLE, {}), report))
    try:
        return TypeAdapter(WishEntry).validate_python(wish)
    except ValidationError as error:
        report_errors(error.errors(include_url=False), WishEntry, wish, ("wish",), report)
        return None


def _check_on(entry: WishEntry, raw: Mapping[str, Any], report: Report) -> None:
    members = raw.get("member", [])
    names = [each.get("name") for each in members if isinstance(each, dict)] if isinstance(members, list) else []
    known = [name for name in names if isinstance(name, str)]
    if entry.on not in known:
        do = did_you_mean(entry.on, known, "name the [[member]] that carries the strip")
        found, allowed = f'"{entry.on}"', quoted_list(known) or "a [[member]] of the brief"
        report.at_value(
            ("wish", "on"), Problem("PROPOSE-001", "there is no such member to put strip on", found, allowed, do)
        )
    for key in ("spiral", "garland"):
        if entry.zigzag is not None and getattr(entry, key) is not None:
            summary = f"a zigzag can't have a {key} as well"
            report.at_key(
                ("wish", key), Problem("PROPOSE-001", summary, key, "zigzag alone", f"leave out {key} or zigzag")
            )


def _commented(text: str, raw: Mapping[str, Any], report: Report) -> str:
    """Return the text with the lines of ``[wish]`` made comments."""
    lines, in_wish = [], False
    for line in text.split("\n"):
        if header := _HEADER.match(line):
            in_wish = header[1] == "wish"
        lines.append(f"# {line}".rstrip() if in_wish and line.strip() else line)
    head = "\n".join(lines)
    rest = {key: value for key, value in raw.items() if key != "wish"}
    try:
        is_same = tomllib.loads(head) == rest
    except tomllib.TOMLDecodeError:
        is_same = False
    if not is_same:
        summary, do = "[wish] can't be told from the rest", "begin it with [wish], each of its values on one line"
        report.at_value(("wish",), Problem("PROPOSE-001", summary, "[wish]", "[wish] and lines of key = value", do))
        raise MakerError(report.in_file_order())
    return head


def _written_by_us(key: str) -> Problem:
    header = f"[{key}]" if key == "show" else f"[[{key}]]"
    summary = f"a brief has no {header}: that is what a design adds to it"
    allowed = "[brief], [measures], [[member]], [allowances], [work], [standby] and [wish]"
    return Problem("PROPOSE-001", summary, header, allowed, 'take it out, or use "lampwright check" on a piece file')


def _no_wish() -> Problem:
    allowed = "one [wish] table: on, seen_from, surroundings, and what else you want"
    return Problem("PROPOSE-001", "the brief has no [wish] table", "no [wish]", allowed, "add a [wish] table")
