"""The single values of a piece file: each is read, checked, and explained in a maker's words.

Every checker is called with the raw TOML value and returns what it stands for, or raises a pydantic
error of type "fault" that carries :class:`~lampwright.piece.report.Fault` records.
"""

from __future__ import annotations

import datetime
import math
import re
from abc import ABC, abstractmethod
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, NoReturn

from pydantic import BeforeValidator
from pydantic_core import PydanticCustomError

from lampwright.formula import NUMBER, Amount, FormulaError
from lampwright.piece.measures import MeasuredText, NoMeasureError, of_another_kind, said_with_value
from lampwright.piece.report import Fault, did_you_mean, quoted_list, spoken
from lampwright.units import Kind, Problem, UnitError, parse, unit_table

_NAME = re.compile(r"[A-Za-z][A-Za-z0-9 _-]{0,38}[A-Za-z0-9]|[A-Za-z]")
_FILE_NAME = re.compile(r"[a-z][a-z0-9-]{0,39}")
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")
_RESERVED = ("next", "previous")


def refuse(faults: Iterable[Fault]) -> NoReturn:
    """Raise faults so that pydantic adds where they were found."""
    raise PydanticCustomError("fault", "fault", {"faults": tuple(faults)})


def faults_of(error: PydanticCustomError) -> tuple[Fault, ...]:
    """Return the faults that :func:`refuse` put into an error."""
    faults: tuple[Fault, ...] = (error.context or {})["faults"]
    return faults


def wrong_type(raw: object, meant: str, example: str) -> Problem:
    """Return the problem of a value that is of another type than what is meant, such as "a date"."""
    summary = f"{meant} is meant here, not {spoken(raw)}"
    return Problem("PIECE-005", summary, spoken(raw), f"{meant}, such as {example}", f"write {example}")


def out_of_range(raw: object, summary: str, allowed: str, example: str) -> Problem:
    """Return the problem of a value that is too small or too large."""
    do = f"write a value within what is allowed, such as {example}"
    found = said_with_value(raw, amount_of(raw)) if isinstance(raw, MeasuredText) else spoken(raw)
    return Problem("PIECE-007", summary, found, allowed, do)


def amount_of(raw: MeasuredText) -> Amount:
    """Return what a formula gives, or refuse it; one made of a measure that is at fault is refused without a word."""
    try:
        return raw.amount()
    except FormulaError as error:
        refuse([Fault(error.problem, start=error.start, length=error.length)])
    except NoMeasureError:
        refuse([])


def unknown_choice(raw: object, words: tuple[str, ...]) -> Problem:
    """Return the problem of a word that isn't one of ``words``."""
    do = did_you_mean(raw if isinstance(raw, str) else "", words, "write one of the words allowed")
    summary = f"{spoken(raw)} is not one of the words allowed here"
    return Problem("PIECE-006", summary, spoken(raw), quoted_list(words), do)


@dataclass(frozen=True)
class Checker(ABC):
    """Something that checks one value; ``example`` is TOML text that a maker could copy."""

    example: str

    @property
    @abstractmethod
    def meant(self) -> str:
        """What is meant, with its article, such as "a length"."""

    @property
    def takes(self) -> str:
        """What is meant and how far it may go, such as "a length from 0 m to 10 m"."""
        return self.meant

    @abstractmethod
    def __call__(self, raw: Any) -> Any:
        """Return what ``raw`` stands for, or raise its faults."""

    def field(self) -> BeforeValidator:
        """Return the checker as pydantic takes it."""
        return BeforeValidator(self)


@dataclass(frozen=True)
class Quantity(Checker):
    """A quantity as spoken; limits are texts too, ``above`` leaves its own value out."""

    kind: Kind = "length"
    least: str | None = None
    most: str | None = None
    above: str | None = None

    @property
    def meant(self) -> str:
        return unit_table().kinds[self.kind].phrase

    def __call__(self, raw: Any) -> float:
        if isinstance(raw, int | float) and not isinstance(raw, bool):
            refuse([Fault(self._bare_number(raw))])
        if not isinstance(raw, str):
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        if isinstance(raw, MeasuredText):
            value = self._of_formula(raw)
        else:
            try:
                value = parse(raw, self.kind)
            except UnitError as error:
                refuse([Fault(self._fitting(error.problem), start=error.start, length=error.length)])
        if self._is_below(value):
            refuse([Fault(out_of_range(raw, "this is too small", self.takes, self.example))])
        if self.most is not None and value > parse(self.most, self.kind):
            refuse([Fault(out_of_range(raw, "this is too large", self.takes, self.example))])
        return value

    def _of_formula(self, raw: MeasuredText) -> float:
        amount = amount_of(raw)
        if not amount.is_of(self.kind):
            refuse([Fault(of_another_kind(raw, amount, self.meant, self.example))])
        return amount.value

    def _is_below(self, value: float) -> bool:
        if self.above is not None:
            return value <= parse(self.above, self.kind)
        return self.least is not None and value < parse(self.least, self.kind)

    @property
    def takes(self) -> str:
        low = f"more than {self.above}" if self.above is not None else f"from {self.least}"
        return f"{self.meant} {low}" + (f" to {self.most}" if self.most is not None else "")

    def _fitting(self, problem: Problem) -> Problem:
        """Put this entry's own example in place of the kind's."""
        general = f'"{unit_table().kinds[self.kind].example}"'
        allowed = f"{self.meant}, such as {self.example}"
        return replace(problem, allowed=allowed, do=problem.do.replace(general, self.example))

    def _bare_number(self, raw: object) -> Problem:
        number, unit = self.example.strip('"').rsplit(" ", 1)
        if math.isfinite(float(str(raw))):
            number = str(raw)
        do = f'write it in quotes with its unit, such as "{number} {unit}"'
        allowed = f"{self.meant}, such as {self.example}"
        return Problem("UNIT-001", f'"{raw}" has no unit', spoken(raw), allowed, do)


@dataclass(frozen=True)
class Vector(Checker):
    """A list of lengths, one for each of ``axes``."""

    axes: tuple[str, ...] = ("x", "y", "z")

    @property
    def meant(self) -> str:
        return f"a list of {len(self.axes)} lengths ({', '.join(self.axes)})"

    def __call__(self, raw: Any) -> tuple[float, ...]:
        if not isinstance(raw, list) or len(raw) != len(self.axes):
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        return tuple(_each(raw, Quantity('"1.8 m"', "length", least="-10 km", most="10 km")))


@dataclass(frozen=True)
class Line(Checker):
    """A list of two or more points, each a list of lengths."""

    @property
    def meant(self) -> str:
        return "a list of 2 to 50 points, each a list of 3 lengths (x, y, z),"

    def __call__(self, raw: Any) -> tuple[tuple[float, ...], ...]:
        if not isinstance(raw, list) or not 2 <= len(raw) <= 50:
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        return tuple(_each(raw, Vector('["0 m", "0 m", "2 m"]')))


@dataclass(frozen=True)
class Bends(Checker):
    """A length for all corners, or a list with one for each."""

    @property
    def meant(self) -> str:
        return "a length, or a list of lengths, one for each corner,"

    def __call__(self, raw: Any) -> tuple[float, ...] | float:
        radius = Quantity('"15 cm"', "length", least="0 m", most="100 m")
        if isinstance(raw, list):
            return tuple(_each(raw, radius))
        return radius(raw)


@dataclass(frozen=True)
class Whole(Checker):
    """A whole number within a range."""

    least: int = 0
    most: int = 1000

    @property
    def meant(self) -> str:
        return "a whole number"

    @property
    def takes(self) -> str:
        return f"a whole number from {self.least} to {self.most}"

    def __call__(self, raw: Any) -> int:
        value = self._of_formula(raw) if isinstance(raw, MeasuredText) else raw
        if isinstance(value, bool) or not isinstance(value, int):
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        if value < self.least:
            refuse([Fault(out_of_range(raw, "this is too small", self.takes, self.example))])
        if value > self.most:
            refuse([Fault(out_of_range(raw, "this is too large", self.takes, self.example))])
        return value

    def _of_formula(self, raw: MeasuredText) -> int:
        amount = amount_of(raw)
        if amount.dimension != NUMBER:
            refuse([Fault(of_another_kind(raw, amount, self.meant, self.example))])
        if amount.number.denominator != 1:
            do = f'write "= round({str(raw).strip(" =")})", or round_up or round_down in place of round'
            found = said_with_value(raw, amount)
            refuse([Fault(Problem("MEASURE-004", "this formula gives no whole number", found, self.meant, do))])
        return int(amount.number)


@dataclass(frozen=True)
class Number(Checker):
    """A plain number within a range."""

    least: float = 0.0
    most: float = 1.0

    @property
    def meant(self) -> str:
        return "a number"

    @property
    def takes(self) -> str:
        return f"a number from {self.least:.10g} to {self.most:.10g}"

    def __call__(self, raw: Any) -> float:
        value = raw
        if isinstance(raw, MeasuredText):
            amount = amount_of(raw)
            if amount.dimension != NUMBER:
                refuse([Fault(of_another_kind(raw, amount, self.meant, self.example))])
            value = amount.value
        if isinstance(value, bool) or not isinstance(value, int | float) or math.isnan(value):
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        if value < self.least:
            refuse([Fault(out_of_range(raw, "this is too small", self.takes, self.example))])
        if value > self.most:
            refuse([Fault(out_of_range(raw, "this is too large", self.takes, self.example))])
        return float(value)


@dataclass(frozen=True)
class Counts(Checker):
    """A list of two whole numbers, along x and along y; together no more than ``most``."""

    most: int = 200

    @property
    def meant(self) -> str:
        return "a list of 2 whole numbers (x, y)"

    def __call__(self, raw: Any) -> tuple[int, ...]:
        if not isinstance(raw, list) or len(raw) != 2:
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        counts = tuple(_each(raw, Whole("3", 1, self.most)))
        if math.prod(counts) > self.most:
            problem = Problem(
                "PIECE-007",
                "these are too many members",
                f"{math.prod(counts)} members",
                f"up to {self.most} members in one pattern",
                f"write smaller numbers, such as {self.example}",
            )
            refuse([Fault(problem)])
        return counts


def _each(items: list[Any], checker: Checker) -> list[Any]:
    """Check every item of a list, and raise the faults of all at once."""
    values, faults = [], []
    for index, item in enumerate(items):
        try:
            values.append(checker(item))
        except PydanticCustomError as error:
            faults += [replace(fault, path=(index, *fault.path)) for fault in faults_of(error)]
    if len(values) < len(items):  # an item may be refused without a word
        refuse(faults)
    return values


@dataclass(frozen=True)
class Choice(Checker):
    """One of a few words."""

    words: tuple[str, ...] = ()

    @property
    def meant(self) -> str:
        return "one of " + quoted_list(self.words)

    def __call__(self, raw: Any) -> str:
        if isinstance(raw, str) and raw in self.words:
            return raw
        refuse([Fault(unknown_choice(raw, self.words))])


@dataclass(frozen=True)
class Text(Checker):
    """Free text on one line."""

    @property
    def meant(self) -> str:
        return "a text in quotes"

    def __call__(self, raw: Any) -> str:
        if not isinstance(raw, str):
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        if not raw.strip() or len(raw) > 120 or not raw.isprintable():
            summary = "this text is empty, too long, or holds characters that can't be shown"
            allowed = "1 to 120 printable characters on one line"
            refuse([Fault(out_of_range(raw, summary, allowed, self.example))])
        return raw


@dataclass(frozen=True)
class Name(Checker):
    """The name of a member, a circuit or a run; part of what "next crown" and "arch 2 crown" are made of."""

    @property
    def meant(self) -> str:
        return "a name in quotes"

    def __call__(self, raw: Any) -> str:
        if not isinstance(raw, str):
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        if raw.split(" ")[0] in _RESERVED:
            allowed = 'a name that does not begin with "next" or "previous", which mean neighbours'
            refuse([Fault(_bad_name(raw, allowed, self.example))])
        if not _NAME.fullmatch(raw):
            allowed = 'up to 40 letters (a to z), digits, spaces, "-" and "_", beginning with a letter'
            refuse([Fault(_bad_name(raw, allowed, self.example))])
        return raw


@dataclass(frozen=True)
class Outlets(Checker):
    """The name of a mains outlet, or a list of names that circuits are dealt out to in turn."""

    @property
    def meant(self) -> str:
        return "an outlet's name in quotes, or a list of such names,"

    def __call__(self, raw: Any) -> tuple[str, ...] | str:
        name = Name('"left wall"')
        if isinstance(raw, str):
            return name(raw)
        if not isinstance(raw, list) or not 1 <= len(raw) <= 50:
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        return tuple(_each(raw, name))


@dataclass(frozen=True)
class LookName(Checker):
    """The name of a look, which is a file's name too."""

    @property
    def meant(self) -> str:
        return "a look's name in quotes"

    def __call__(self, raw: Any) -> str:
        if not isinstance(raw, str):
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        if not _FILE_NAME.fullmatch(raw):
            allowed = 'up to 40 small letters (a to z), digits and "-", beginning with a letter'
            refuse([Fault(_bad_name(raw, allowed, self.example))])
        return raw


def _bad_name(raw: str, allowed: str, example: str) -> Problem:
    summary = f"{spoken(raw)} can't be a name here"
    return Problem("PIECE-008", summary, spoken(raw), allowed, f"choose another, such as {example}")


@dataclass(frozen=True)
class Colour(Checker):
    """A hex colour."""

    @property
    def meant(self) -> str:
        return "a colour in quotes"

    def __call__(self, raw: Any) -> str:
        if not isinstance(raw, str):
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        if not _COLOUR.fullmatch(raw):
            summary = f"{spoken(raw)} is not a colour"
            allowed = f'"#" and six digits from 0 to f: two each for red, green, blue, such as {self.example}'
            refuse([Fault(Problem("PIECE-009", summary, spoken(raw), allowed, f"write {self.example}"))])
        return raw


@dataclass(frozen=True)
class Date(Checker):
    """A calendar day."""

    @property
    def meant(self) -> str:
        return "a date (year first, without quotes)"

    def __call__(self, raw: Any) -> datetime.date:
        if not isinstance(raw, datetime.date) or isinstance(raw, datetime.datetime):
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        return raw
