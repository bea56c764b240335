"""The single values of a piece file: each is read, checked, and explained in a maker's words.

Every checker is called with the raw TOML value and returns what it stands for, or raises a pydantic
error of type "fault" that carries :class:`~lampwright.piece.report.Fault` records.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, NoReturn

from pydantic import BeforeValidator
from pydantic_core import PydanticCustomError

from lampwright.parts import NOUNS, Strip, find, override
from lampwright.piece.report import Fault, did_you_mean, quoted_list, spoken
from lampwright.units import Kind, MakerError, Problem, UnitError, parse, parse_any, unit_table

_NAME = re.compile(r"[A-Za-z][A-Za-z0-9 _-]{0,38}[A-Za-z0-9]|[A-Za-z]")
_FILE_NAME = re.compile(r"[a-z][a-z0-9-]{0,39}")
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")
_SETTING = re.compile(r"[a-z][a-z0-9_]{0,39}")
_RESERVED = ("next", "previous")


def refuse(faults: Iterable[Fault]) -> NoReturn:
    """Raise faults so that pydantic adds where they were found."""
    raise PydanticCustomError("fault", "fault", {"faults": tuple(faults)})


def wrong_type(raw: object, allowed: str, example: str) -> Problem:
    """Return the problem of a value that is of another type than meant."""
    return Problem("PIECE-005", f"{spoken(raw)} can't stand here", spoken(raw), allowed, f"write {example}")


def out_of_range(raw: object, summary: str, allowed: str, example: str) -> Problem:
    """Return the problem of a value that is too small or too large."""
    return Problem("PIECE-007", summary, spoken(raw), allowed, f"write a value in this range, such as {example}")


@dataclass(frozen=True)
class Checker:
    """Something that checks one value; ``example`` is TOML text that a maker could copy."""

    example: str

    def field(self) -> BeforeValidator:
        """Return the checker as pydantic takes it."""
        return BeforeValidator(self)

    def __call__(self, raw: Any) -> Any:
        """Return what ``raw`` stands for, or raise its faults."""
        raise NotImplementedError


@dataclass(frozen=True)
class Quantity(Checker):
    """A quantity as spoken; limits are texts too, ``above`` leaves its own value out."""

    kind: Kind = "length"
    least: str | None = None
    most: str | None = None
    above: str | None = None

    def __call__(self, raw: Any) -> float:
        if not isinstance(raw, str):
            refuse([Fault(self._not_text(raw))])
        try:
            value = parse(raw, self.kind)
        except UnitError as error:
            refuse([Fault(self._fitting(error.problem), start=error.start, length=error.length)])
        is_low = self.least is not None and value < parse(self.least, self.kind)
        is_low = is_low or (self.above is not None and value <= parse(self.above, self.kind))
        if is_low:
            refuse([Fault(out_of_range(raw, "this is too small", self._range(), self.example))])
        if self.most is not None and value > parse(self.most, self.kind):
            refuse([Fault(out_of_range(raw, "this is too large", self._range(), self.example))])
        return value

    def _range(self) -> str:
        low = f"{self.least} or more" if self.least is not None else f"more than {self.above}"
        if self.least is None and self.above is None:
            return f"{self.most} or less"
        return low if self.most is None else f"{low}, up to {self.most}"

    def _allowed(self) -> str:
        return f"{unit_table().kinds[self.kind].phrase}, such as {self.example}"

    def _fitting(self, problem: Problem) -> Problem:
        """Put this entry's own example in place of the kind's."""
        general = f'"{unit_table().kinds[self.kind].example}"'
        return replace(problem, allowed=self._allowed(), do=problem.do.replace(general, self.example))

    def _not_text(self, raw: object) -> Problem:
        if isinstance(raw, bool) or not isinstance(raw, int | float):
            return wrong_type(raw, self._allowed(), self.example)
        unit = self.example.strip('"').rsplit(" ", 1)[1]
        do = f'write it in quotes with its unit, such as "{raw} {unit}"'
        return Problem("UNIT-001", f"{raw} has no unit", spoken(raw), self._allowed(), do)


@dataclass(frozen=True)
class Vector(Checker):
    """A list of quantities, one for each of ``axes``."""

    axes: tuple[str, ...] = ("x", "y", "z")

    def __call__(self, raw: Any) -> tuple[float, ...]:
        if not isinstance(raw, list):
            refuse([Fault(wrong_type(raw, self._allowed(), self.example))])
        if len(raw) != len(self.axes):
            summary = f"{len(self.axes)} lengths are meant here, not {len(raw)}"
            refuse([Fault(Problem("PIECE-005", summary, spoken(raw), self._allowed(), f"write {self.example}"))])
        return tuple(_each(raw, Quantity('"1.8 m"', "length", least="-10 km", most="10 km")))

    def _allowed(self) -> str:
        return f"a list of {len(self.axes)} lengths ({', '.join(self.axes)}), such as {self.example}"


@dataclass(frozen=True)
class Counts(Checker):
    """A list of whole numbers, one along x and one along y."""

    most: int = 200

    def __call__(self, raw: Any) -> tuple[int, ...]:
        if not isinstance(raw, list) or len(raw) != 2:
            refuse([Fault(wrong_type(raw, f"a list of 2 whole numbers, such as {self.example}", self.example))])
        counts = tuple(_each(raw, Whole("3", 1, self.most)))
        if math.prod(counts) > self.most:
            allowed = f"{self.most} members in all or fewer"
            refuse([Fault(out_of_range(raw, f"these are {math.prod(counts)} members", allowed, self.example))])
        return counts


def _each(items: list[Any], checker: Checker) -> list[Any]:
    """Check every item of a list, and raise the faults of all at once."""
    values, faults = [], []
    for index, item in enumerate(items):
        try:
            values.append(checker(item))
        except PydanticCustomError as error:
            faults += [replace(fault, path=(index, *fault.path)) for fault in faults_of(error)]
    if faults:
        refuse(faults)
    return values


def faults_of(error: PydanticCustomError) -> tuple[Fault, ...]:
    """Return the faults that :func:`refuse` put into an error."""
    faults: tuple[Fault, ...] = (error.context or {})["faults"]
    return faults


@dataclass(frozen=True)
class Whole(Checker):
    """A whole number within a range."""

    least: int = 0
    most: int = 1000

    def __call__(self, raw: Any) -> int:
        allowed = f"a whole number from {self.least} to {self.most}"
        if isinstance(raw, bool) or not isinstance(raw, int):
            refuse([Fault(wrong_type(raw, allowed, self.example))])
        if raw < self.least:
            refuse([Fault(out_of_range(raw, "this is too small", allowed, self.example))])
        if raw > self.most:
            refuse([Fault(out_of_range(raw, "this is too large", allowed, self.example))])
        return raw


@dataclass(frozen=True)
class Choice(Checker):
    """One of a few words."""

    words: tuple[str, ...] = ()

    def __call__(self, raw: Any) -> str:
        if isinstance(raw, str) and raw in self.words:
            return raw
        refuse([Fault(unknown_choice(raw, self.words))])


def unknown_choice(raw: object, words: tuple[str, ...]) -> Problem:
    """Return the problem of a word that isn't one of ``words``."""
    do = did_you_mean(raw if isinstance(raw, str) else "", words, "write one of the words allowed")
    return Problem(
        "PIECE-006", f"{spoken(raw)} is not one of the words allowed here", spoken(raw), quoted_list(words), do
    )


@dataclass(frozen=True)
class Text(Checker):
    """Free text on one line."""

    def __call__(self, raw: Any) -> str:
        if not isinstance(raw, str):
            refuse([Fault(wrong_type(raw, f"a text in quotes, such as {self.example}", self.example))])
        if not raw.strip() or len(raw) > 120 or not raw.isprintable():
            allowed = "1 to 120 printable characters on one line"
            refuse([Fault(out_of_range(raw, "this text can't be used", allowed, self.example))])
        return raw


@dataclass(frozen=True)
class Pattern(Checker):
    """A text of a fixed form."""

    form: re.Pattern[str] = _NAME
    allowed: str = ""
    code: str = "PIECE-008"

    def __call__(self, raw: Any) -> str:
        if not isinstance(raw, str):
            refuse([Fault(wrong_type(raw, self.allowed, self.example))])
        is_reserved = self.form is _NAME and raw.split(" ")[0] in _RESERVED
        if not self.form.fullmatch(raw) or is_reserved:
            what = "colour" if self.code == "PIECE-009" else "name"
            problem = Problem(
                self.code, f'"{raw}" can\'t be a {what}', spoken(raw), self.allowed, f"write it such as {self.example}"
            )
            refuse([Fault(problem)])
        return raw


def name_check(example: str) -> Pattern:
    """Return the checker of a member's, circuit's or run's name."""
    allowed = 'letters, digits, spaces, "-" and "_", a letter first, up to 40; not beginning with "next" or "previous"'
    return Pattern(example, _NAME, allowed)


def look_name_check(example: str) -> Pattern:
    """Return the checker of a look's name, which is a file's name too."""
    return Pattern(example, _FILE_NAME, 'small letters, digits and "-", a letter first, up to 40')


def colour_check(example: str) -> Pattern:
    """Return the checker of a hex colour."""
    return Pattern(example, _COLOUR, f"a colour as # and six hex digits, such as {example}", "PIECE-009")


@dataclass(frozen=True)
class Date(Checker):
    """A calendar day."""

    def __call__(self, raw: Any) -> datetime.date:
        if not isinstance(raw, datetime.date) or isinstance(raw, datetime.datetime):
            allowed = f"a date without quotes, year first, such as {self.example}"
            refuse([Fault(wrong_type(raw, allowed, self.example))])
        return raw


@dataclass(frozen=True)
class PartChoice(Checker):
    """A part of the catalogue by name, or a table with ``part`` and figures of the maker's own."""

    kind: type[Any] = Strip

    def __call__(self, raw: Any) -> Any:
        noun = NOUNS[self.kind]
        table = {"part": raw} if isinstance(raw, str) else raw
        if not isinstance(table, dict):
            allowed = f"the name of a {noun}, or {{ part = ..., figure = ... }}"
            refuse([Fault(wrong_type(raw, allowed, self.example))])
        if not isinstance(table.get("part"), str):
            allowed = f"the name of a {noun} of the catalogue"
            problem = Problem("PIECE-003", '"part" is missing', "no part name", allowed, f"write part = {self.example}")
            refuse([Fault(problem)])
        at_name = () if isinstance(raw, str) else ("part",)
        try:
            part = find(self.kind, table["part"])
        except MakerError as error:
            refuse([Fault(problem, at_name) for problem in error.problems])
        return self._with_figures(part, {key: text for key, text in table.items() if key != "part"})

    def _with_figures(self, part: Any, figures: dict[str, Any]) -> Any:
        faults = []
        for key, text in figures.items():
            if not isinstance(text, str):
                faults.append(Fault(wrong_type(text, "a quantity in quotes", '"2.1 A"'), (key,)))
                continue
            try:
                part = override(part, {key: text})
            except UnitError as error:
                faults.append(Fault(error.problem, (key,), error.start, error.length))
            except MakerError as error:
                is_key = error.problems[0].code == "PARTS-002"
                faults += [Fault(problem, (key,), is_key=is_key) for problem in error.problems]
        if faults:
            refuse(faults)
        return part


@dataclass(frozen=True)
class Settings(Checker):
    """A look's settings: plain numbers, hex colours, quantities of any kind."""

    def __call__(self, raw: Any) -> dict[str, float | str]:
        if not isinstance(raw, dict):
            refuse([Fault(wrong_type(raw, "a table of settings", self.example))])
        settings: dict[str, float | str] = {}
        faults: list[Fault] = []
        for key, value in raw.items():
            if not _SETTING.fullmatch(key):
                allowed = 'small letters, digits and "_", a letter first'
                problem = Problem("PIECE-008", f'"{key}" can\'t be a setting', f'"{key}"', allowed, "rename it")
                faults.append(Fault(problem, (key,), is_key=True))
                continue
            try:
                settings[key] = _setting(value)
            except PydanticCustomError as error:
                faults += [replace(fault, path=(key,)) for fault in faults_of(error)]
        if faults:
            refuse(faults)
        return settings


def _setting(raw: object) -> float | str:
    allowed = 'a plain number, a quantity such as "0.2 /s", or a colour such as "#cfe8ff"'
    if isinstance(raw, int | float) and not isinstance(raw, bool):
        if not math.isfinite(raw) or abs(raw) > 1e6:
            refuse([Fault(out_of_range(raw, "this is too large", "a number up to a million", "0.5"))])
        return float(raw)
    if not isinstance(raw, str):
        refuse([Fault(wrong_type(raw, allowed, '"0.2 /s"'))])
    if raw.startswith("#"):
        return str(colour_check('"#cfe8ff"')(raw))
    try:
        return parse_any(raw)[0]
    except UnitError as error:
        problem = replace(error.problem, allowed=allowed)
        refuse([Fault(problem, start=error.start, length=error.length)])
