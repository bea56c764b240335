"""Read a brief: the head of a piece file, and one table ``[wish]`` in place of circuits and show."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field, TypeAdapter, ValidationError

from lampwright.look.source import Value
from lampwright.parts import Cord, Tube, find
from lampwright.piece.choices import PartChoice, Settings
from lampwright.piece.expand import expand_members
from lampwright.piece.fields import Checker, Choice, LookName, Name, Quantity, Text, Whole, refuse, wrong_type
from lampwright.piece.measures import TABLE, read_measures, with_measures
from lampwright.piece.report import Fault, Report, did_you_mean, quoted_list
from lampwright.piece.schema import FixingEntry, Table, ZigzagEntry
from lampwright.piece.source import locate
from lampwright.piece.toml import parse_toml, read_text
from lampwright.piece.validate import validate
from lampwright.piece.wording import report_errors, unknown_key
from lampwright.propose.rig import BRIEF_HEADER, HEADER, OpenMember
from lampwright.units import MakerError, Place, Problem

WRITTEN = ("circuit", "show", "cue")
"""Tables that a design writes, so that a brief has none of them."""

WRITTEN_FOR = {"span": "garland", "sag": "garland", "carrier": "garland", "weak_link": "garland", "fixing": "garland"}
"""Keys of a design that are written for another key of the wish."""

KEPT = ("brief", "measures", "member", "allowances", "work", "standby")

TUGS = {"kept back": 50.0, "passes by": 100.0, "stands close": 200.0}
"""How hard people pull on a span, by how near they come: what a piece file takes, half and twice (our choice). [N]"""

STAND_IN: dict[str, Any] = {
    "circuit": [
        {
            "name": "circuit",
            "pack": "pack-20ah-3a",
            "board": "m328p-16mhz-crystal",
            "run": [{"name": "strip", "strip": "ws2812b-30", "pin": "PD6", "section": [{"on": "member"}]}],
        }
    ],
    "show": {"rate": "25 /s", "brightness": "10 %"},
    "cue": [{"look": "slow-ice", "length": "90 s"}],
}
"""What stands for circuits and show while only the head is looked at."""

_HEADER = re.compile(r"^\s*\[+\s*([A-Za-z_-]+)")


@dataclass(frozen=True)
class TubeNames(Checker):
    """Tubes of the catalogue, by their names."""

    @property
    def meant(self) -> str:
        return "a list of names of tubes of the catalogue"

    def __call__(self, raw: Any) -> tuple[Tube, ...]:
        if not isinstance(raw, list) or not raw:
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        found, faults = [], []
        for number, name in enumerate(raw):
            try:
                found.append(find(Tube, name) if isinstance(name, str) else None)
            except MakerError as error:
                faults += [Fault(problem, (number,)) for problem in error.problems]
            if not isinstance(name, str):
                faults.append(Fault(wrong_type(name, "the name of a tube of the catalogue", '"conduit-1"'), (number,)))
        if faults:
            refuse(faults)
        return tuple(each for each in found if each is not None)


class FootEntry(Table):
    reach: Annotated[float, Quantity('"0.4 m"', "length", above="0 m", most="100 m").field()] = 0.4
    legs: Annotated[int, Whole("4", 3, 12).field()] = 4
    step: Annotated[float, Quantity('"5 kg"', "mass", above="0 kg", most="100 kg").field()] = 5.0


class GarlandEntry(Table):
    sag: Annotated[float, Quantity('"0.1 m"', "length", above="0 m", most="1 km").field()]
    point: Annotated[str | None, Text('"crown"').field()] = None
    carrier: Annotated[Cord | None, PartChoice('"nylon-550"', Cord).field()] = None
    fixing: FixingEntry | None = None
    weak_link: Annotated[float | None, Quantity('"18 N"', "force", above="0 N", most="100 kN").field()] = None


class WishEntry(Table):
    on: Annotated[str, Name('"arch"').field()]
    bare_start: Annotated[float, Quantity('"0.4 m"', "length", least="0 m", most="1 km").field()] = 0.0
    bare_end: Annotated[float, Quantity('"0.4 m"', "length", least="0 m", most="1 km").field()] = 0.0
    spiral: Annotated[float | None, Quantity('"20 cm"', "length", above="0 m", most="100 m").field()] = None
    zigzag: ZigzagEntry | None = None
    tubes: Annotated[tuple[Tube, ...], TubeNames('["conduit-3-4", "conduit-1"]').field()] = ()
    base: FootEntry = Field(default_factory=FootEntry)
    garland: GarlandEntry | None = None
    look: Annotated[str | None, LookName('"slow-ice"').field()] = None
    set: Annotated[dict[str, Value], Settings('{ pace = "0.2 /s" }').field()] = Field(default_factory=dict)
    seen_from: Annotated[float, Quantity('"20 m"', "length", above="0 m", most="10 km").field()]
    surroundings: Annotated[str, Choice('"dark park"', ("dark park", "lit street")).field()]
    brightness: Annotated[float, Quantity('"10 %"', "share", above="0 %", most="100 %").field()] = 0.01
    pitch: Annotated[float | None, Quantity('"20 mm"', "length", above="0 m", most="10 m").field()] = None
    odds: Annotated[float, Quantity('"95 %"', "share", least="0 %", most="100 %").field()] = 0.0
    packs: Annotated[int, Whole("1", 1, 2).field()] = 2
    supply: Annotated[str, Choice('"mains"', ("packs", "mains")).field()] = "packs"
    outlets: Annotated[int, Whole("2", 1, 20).field()] = 1
    crowd: Annotated[str | None, Choice('"passes by"', tuple(TUGS)).field()] = None
    crew: Annotated[int | None, Whole("2", 1, 50).field()] = None
    set_up: Annotated[float | None, Quantity('"1 h"', "time", least="1 min", most="7 d").field()] = None


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
    members: tuple[OpenMember, ...] = ()
    """The ``[[member]]`` entries, and what each leaves open."""
    is_tug_stated: bool = False
    places: Mapping[str, Place] = field(default_factory=dict)
    """Where the keys of the wish stand, and the wish itself by ``"wish"``."""

    @property
    def is_on_mains(self) -> bool:
        """Whether supplies from the mains feed it instead of packs."""
        return self.wish.supply == "mains"

    @property
    def tug(self) -> float | None:
        """What a crowd pulls with, where the brief doesn't say itself; ``None``: nothing is to be written. [N]"""
        return None if self.wish.crowd is None or self.is_tug_stated else TUGS[self.wish.crowd]

    @property
    def upper_point(self) -> str:
        """The point from which a garland goes to the next member."""
        stated = self.wish.garland.point if self.wish.garland is not None else None
        return stated or next((each.upper_point for each in self.members if each.name == self.wish.on), "top")

    def placed(self, problems: Sequence[Problem]) -> tuple[Problem, ...]:
        """Return problems of a design, each at the key of the wish it comes from where the brief lacks its line."""
        found = []
        for problem in problems:
            place = problem.place
            if place is not None and place.line > self.head.count("\n") + 1:
                begins = place.text.split("=")[0].strip()
                place = self.places.get(WRITTEN_FOR.get(begins, begins), self.places.get("wish", place))
            found.append(replace(problem, place=place))
        return tuple(dict.fromkeys(found))


def read_brief(path: Path) -> Asked:
    """Return what a brief file asks for.

    Raises
    ------
    MakerError
        With every problem of the file in file order, each at its line and column. What a strip on a member meets only
        once it is laid out is told later.
    """
    return brief_from_text(read_text(path), path)


def is_brief(text: str) -> bool:
    """Return whether a text has the table that tells a brief from a piece file."""
    headers = map(_HEADER.match, text.split("\n"))
    return any(header is not None and header[1] == "wish" for header in headers)


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
    _check_head(raw, report)
    entry = _read_wish(raw, report)
    _check_on(raw, report)
    if entry is not None:
        _check_ways(entry, report)
    if problems := report.in_file_order():
        raise MakerError(problems)
    assert entry is not None
    places = {"wish": report.locations.key(("wish",))}
    places |= {key: report.locations.key(("wish", key)) for key in raw["wish"]}
    members = _open_members(text, raw, report)
    brief = raw.get("brief")
    name = brief.get("name") if isinstance(brief, dict) else None
    name = name if isinstance(name, str) else ""
    is_tug_stated = isinstance(brief, dict) and "tug" in brief
    if entry.crowd is not None and not any(BRIEF_HEADER.match(line) for line in text.split("\n")):
        summary, do = "there is no line [brief] to write the crowd's tug under", "begin the brief's table with [brief]"
        report.at_key(("wish", "crowd"), Problem("PROPOSE-001", summary, "crowd", "a [brief] table", do))
        raise MakerError(report.in_file_order())
    return Asked(path, name, _commented(text, raw, report), entry, raw["wish"], members, is_tug_stated, places)


def _read_wish(raw: Mapping[str, Any], report: Report) -> WishEntry | None:
    if "wish" not in raw:
        report.at_value((), _no_wish())
        return None
    if not isinstance(raw["wish"], dict):
        report.at_key(("wish",), _no_wish())
        return None
    # measures at fault are reported with the head
    wish = with_measures(raw["wish"], read_measures(raw.get(TABLE, {}), Report(report.locations)))
    try:
        return TypeAdapter(WishEntry).validate_python(wish)
    except ValidationError as error:
        report_errors(error.errors(include_url=False), WishEntry, wish, ("wish",), report)
        return None


def _check_head(raw: Mapping[str, Any], report: Report) -> None:
    """Report what is wrong with the tables that a brief shares with a piece file, a stand-in for what a design adds."""
    head = {key: value for key, value in raw.items() if key in KEPT}
    expand_members(validate(head | STAND_IN, report), report)


def _check_on(raw: Mapping[str, Any], report: Report) -> None:
    on = raw["wish"].get("on") if isinstance(raw.get("wish"), dict) else None
    if not isinstance(on, str):
        return
    members = raw.get("member", [])
    names = [each.get("name") for each in members if isinstance(each, dict)] if isinstance(members, list) else []
    known = [name for name in names if isinstance(name, str)]
    if on not in known:
        do = did_you_mean(on, known, "name the [[member]] that carries the strip")
        found, allowed = f'"{on}"', quoted_list(known) or "a [[member]] of the brief"
        report.at_value(
            ("wish", "on"), Problem("PROPOSE-001", "there is no such member to put strip on", found, allowed, do)
        )


def _check_ways(entry: WishEntry, report: Report) -> None:
    for key in ("spiral", "garland"):
        if entry.zigzag is not None and getattr(entry, key) is not None:
            summary = f"a zigzag can't have a {key} as well"
            report.at_key(
                ("wish", key), Problem("PROPOSE-001", summary, key, "zigzag alone", f"leave out {key} or zigzag")
            )


def _open_members(text: str, raw: Mapping[str, Any], report: Report) -> tuple[OpenMember, ...]:
    """Return the member entries of a brief; those that aren't tables are reported with the rest of the piece file."""
    listed = raw.get("member", [])
    entries = [each for each in listed if isinstance(each, dict)] if isinstance(listed, list) else []
    found = tuple(
        OpenMember(
            number,
            str(each.get("name", "")),
            "tube" in each,
            "base" in each or "socket" in each,
            str(each.get("shape", "")),
        )
        for number, each in enumerate(entries)
    )
    n_header = sum(HEADER.match(line) is not None for line in text.split("\n"))
    if n_header != len(found):
        summary, do = "the members can't be told apart in the text", "begin each of them with [[member]]"
        report.at_value(("member",), Problem("PROPOSE-001", summary, "member = [...]", "[[member]] tables", do))
        raise MakerError(report.in_file_order())
    return found


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
