"""Read quantities as makers say them: "8 ft 6 in", "1 1/2 in", "-3 degC", "1 h 30 min"."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction

from lampwright.units.errors import MakerError, Problem
from lampwright.units.table import Kind, Unit, unit_table

# A mixed fraction comes first: "1 1/2" must not be read as 1 with something after it.
_NUMBER = re.compile(r"(?:(\d+)[ ]+)?(\d+)/(\d+)(?![\d.])|(\d+(?:\.\d*)?|\.\d+)(?:[eE]([+-]?\d{1,2})(?!\d))?", re.ASCII)
_UNKNOWN_UNIT = re.compile(r"[^\s\d]\S*(?: +[^\s\d]\S*)*")
_SPACE = re.compile(r"\s*")
_MINUS = ("-", "−", "–")
_LONGEST_TEXT = 80


class UnitError(MakerError):
    """A quantity that can't be read; ``start`` and ``length`` mark the fault in ``text``, in characters."""

    def __init__(self, problem: Problem, text: str, start: int, length: int) -> None:
        super().__init__([problem])
        self.text = text
        self.start = start
        self.length = length

    @property
    def problem(self) -> Problem:
        """The one problem."""
        return self.problems[0]


def read_number(text: str, position: int) -> tuple[Fraction, int] | None:
    """Return the number without a sign that begins here, and where it ends; ``None`` where there is none.

    Raises
    ------
    ZeroDivisionError
        A fraction with nothing below its line.
    """
    match = _NUMBER.match(text, position)
    if match is None:
        return None
    whole, top, bottom, decimal, exponent = match.groups()
    if decimal is not None:
        return Fraction(decimal) * Fraction(10) ** int(exponent or 0), match.end()
    return int(whole or 0) + Fraction(int(top), int(bottom)), match.end()


@dataclass(frozen=True)
class _Term:
    """One number with its unit, and where they stand."""

    number: Fraction
    unit: Unit
    number_start: int
    unit_start: int
    end: int


def parse(text: str, kind: Kind) -> float:
    """Return the quantity in SI units.

    Parameters
    ----------
    text
        A number and its unit; several of one kind may follow each other, largest unit first.
        Numbers are decimals or fractions such as "1/2" and "1 1/2".
    kind
        What is meant here.

    Raises
    ------
    UnitError
        Not a number, no unit, an unknown unit, a unit of another kind, units out of order.
    """
    return _Reader(text, kind).read()[0]


def parse_any(text: str) -> tuple[float, Kind]:
    """Return the quantity in SI units and the kind that its first unit measures.

    Units of several kinds ("Hz") give the first of them in the table.
    """
    return _Reader(text, None).read()


class _Reader:
    """Reads one text; keeps what every error message needs."""

    def __init__(self, text: str, kind: Kind | None) -> None:
        self.text = text
        self.kind = kind
        self.table = unit_table()

    def read(self) -> tuple[float, Kind]:
        text = self.text
        if len(text) > _LONGEST_TEXT:
            raise self._no_number(0, len(text))
        position = self._skip(0)
        is_negative = text.startswith(_MINUS, position)
        if is_negative or text.startswith("+", position):
            position = self._skip(position + 1)
        terms: list[_Term] = []
        while position < len(text) or not terms:
            term = self._term(position, terms)
            self._check_order(terms, term)
            terms.append(term)
            position = self._skip(term.end)
        numbers = [-term.number if is_negative else term.number for term in terms]
        kind = self.kind or terms[0].unit.kinds[0]
        try:
            # Whole sums stay exact until the one rounding at the end.
            value = _sum_si(numbers, [term.unit for term in terms])
        except OverflowError:
            raise self._no_number(0, len(text)) from None
        return value, kind

    def _skip(self, position: int) -> int:
        match = _SPACE.match(self.text, position)
        assert match is not None
        return match.end()

    def _term(self, position: int, before: list[_Term]) -> _Term:
        try:
            found = read_number(self.text, position)
        except ZeroDivisionError:
            raise self._no_number(position, len(self.text) - position) from None
        if found is None:
            raise self._no_number(position, max(1, len(self.text) - position))
        number, number_end = found
        unit_start = self._skip(number_end)
        if unit_start == len(self.text) or self.text[unit_start].isdigit():
            raise self._no_unit(position, number_end, before)
        if self.text[unit_start] == ",":
            raise self._no_number(position, len(self.text) - position)
        unit, end = self._unit(unit_start)
        return _Term(number, unit, position, unit_start, end)

    def _unit(self, start: int) -> tuple[Unit, int]:
        longest = ""
        for spelling in self.table.by_spelling:
            end = start + len(spelling)
            is_whole = end >= len(self.text) or not _goes_on(spelling, self.text[end])
            if len(spelling) > len(longest) and self.text.startswith(spelling, start) and is_whole:
                longest = spelling
        if not longest:
            raise self._unknown_unit(start)
        unit = self.table.by_spelling[longest]
        if self.kind is not None and self.kind not in unit.kinds:
            raise self._wrong_kind(unit, longest, start)
        return unit, start + len(longest)

    def _check_order(self, terms: list[_Term], term: _Term) -> None:
        if not terms:
            return
        first, last = terms[0].unit, terms[-1].unit
        if self.kind is None and not set(term.unit.kinds) & set(first.kinds):
            raise _Reader(self.text, first.kinds[0])._wrong_kind(
                term.unit, self.text[term.unit_start : term.end], term.unit_start
            )
        if term.unit.factor >= last.factor or last.offset or term.unit.offset:
            raise self._out_of_order(last, term)

    # What follows makes the messages.

    def _allowed(self) -> str:
        if self.kind is None:
            return 'a number and its unit, such as "2.4 m" or "0.2 /s"'
        words = self.table.kinds[self.kind]
        return f'{words.phrase}, such as "{words.example}"'

    def _example(self) -> str:
        return self.table.kinds[self.kind].example if self.kind else "2.4 m"

    def _phrase(self) -> str:
        return self.table.kinds[self.kind].phrase if self.kind else "a number and its unit"

    def _error(self, code: str, summary: str, do: str, start: int, length: int) -> UnitError:
        problem = Problem(code, summary, f'"{self.text}"', self._allowed(), do)
        return UnitError(problem, self.text, start, length)

    def _no_unit(self, number_start: int, end: int, before: list[_Term]) -> UnitError:
        start = number_start if before else self._skip(0)  # a sign belongs to the number
        number = self.text[start:end]
        unit = self._example().split(" ", 1)[1]
        if before:
            unit = before[-1].unit.then or unit
        do = f'write the unit too, such as "{self.text[:end].strip()} {unit}"'
        return self._error("UNIT-001", f'"{number}" has no unit', do, start, end - start)

    def _unknown_unit(self, start: int) -> UnitError:
        match = _UNKNOWN_UNIT.match(self.text, start)
        found = match.group() if match else self.text[start:]
        nearest = self.table.nearest(found, self.kind)
        if nearest is not None:
            do = f'did you mean "{nearest.name}"? Write "{self.text[:start]}{nearest.name}"'
        else:
            do = f'write {self._phrase()}, such as "{self._example()}"'
        return self._error("UNIT-002", f'"{found}" is not a known unit', do, start, len(found))

    def _wrong_kind(self, unit: Unit, spelling: str, start: int) -> UnitError:
        assert self.kind is not None
        measured = self.table.kinds[unit.kinds[0]].phrase
        summary = f'"{spelling}" is the unit of {measured}; {self._phrase()} is meant here'
        do = f'write {self._phrase()}, such as "{self._example()}"'
        return self._error("UNIT-003", summary, do, start, len(spelling))

    def _no_number(self, start: int, length: int) -> UnitError:
        found = self.text[start : start + length].strip()
        if "," in found:
            do = f'write numbers in digits with a point and without commas, such as "{self._example()}"'
        else:
            do = f'begin with a number in digits, then its unit, such as "{self._example()}"'
        summary = f'"{found}" is not a number with a unit' if found else "there is no number"
        return self._error("UNIT-004", summary, do, start, length)

    def _out_of_order(self, last: Unit, term: _Term) -> UnitError:
        found = self.text[term.unit_start : term.end]
        if last.offset or term.unit.offset:
            summary, do = f'"{found}" can\'t follow another unit', "write one number and one unit"
        else:
            summary = f'"{found}" comes after "{last.name}", which is not larger'
            do = 'write the larger unit first, such as "8 ft 6 in"'
        return self._error("UNIT-005", summary, do, term.unit_start, len(found))


def _goes_on(spelling: str, following: str) -> bool:
    """Return whether the character after a spelling makes it part of a longer word."""
    if not spelling[-1].isalpha():
        return following in "/²³" or (spelling[-1].isdigit() and following.isalnum())
    return following.isalpha() or following in "/%°²³^"


def _sum_si(numbers: list[Fraction], units: list[Unit]) -> float:
    if len(units) == 1:
        return units[0].to_si(numbers[0])
    total = sum((number * unit.factor for number, unit in zip(numbers, units, strict=True)), Fraction(0))
    return replace(units[0], factor=Fraction(1)).to_si(total)
