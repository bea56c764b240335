"""Read a formula and work it out: "= span / 2 + 10 cm".

    formula   "=" sum
    sum       product { ("+" | "-") product }
    product   signed { ("*" | "/") signed }
    signed    { "-" | "+" } value
    value     quantity | number | measure | function "(" sum { "," sum } ")" | "(" sum ")"

A unit belongs to the number before it, as does a fraction written without spaces: "1/2 in" is half an inch.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable, Iterable
from fractions import Fraction

from lampwright.formula.amount import Amount, in_unit, number
from lampwright.formula.functions import FUNCTIONS, call
from lampwright.formula.problems import ALLOWED, AmountError, FormulaError
from lampwright.units import Problem, unit_table
from lampwright.units.parse import read_number
from lampwright.units.table import Unit

_NAME = re.compile(r"[^\W\d]\w*")
_SPACE = re.compile(r"\s*")
_SIGNS = {"+": "+", "-": "-", "−": "-", "–": "-", "*": "*", "×": "*", "·": "*", "/": "/", "÷": "/"}
_LONGEST = 200
_DEEPEST = 30
_PI = number(math.pi)

Lookup = Callable[[str], Amount]
"""Gives a measure's amount; raises ``KeyError`` for a name that isn't one, ``AmountError`` for one without a value."""


def is_formula(text: str) -> bool:
    """Return whether a text is meant as a formula."""
    return text.lstrip().startswith("=")


def names_in(text: str) -> tuple[str, ...]:
    """Return what could be names in a text, in their order."""
    return tuple(_NAME.findall(text))


def reserved_names() -> frozenset[str]:
    """Return the names that a measure can't have: units, functions and pi."""
    return frozenset(unit_table().by_spelling) | frozenset(FUNCTIONS) | {"pi"}


def work_out(text: str, lookup: Lookup, names: Iterable[str]) -> Amount:
    """Return what a formula gives.

    Parameters
    ----------
    lookup
        Gives the amount of each measure by its name.
    names
        All measures there are, for suggestions.

    Raises
    ------
    FormulaError
        MEASURE-001 what isn't a formula, MEASURE-002 an unknown name, MEASURE-004 units that don't fit,
        MEASURE-005 no value; whatever ``lookup`` raises besides ``KeyError`` passes through.
    """
    return _Reader(text, lookup, tuple(names)).formula()


class _Reader:
    """Reads one text from left to right and works it out as it goes."""

    def __init__(self, text: str, lookup: Lookup, names: tuple[str, ...]) -> None:
        self.text = text
        self.lookup = lookup
        self.names = names
        self.position = 0
        self.depth = 0

    def formula(self) -> Amount:
        if len(self.text) > _LONGEST:
            raise self._error("MEASURE-001", "this formula is too long", f"keep it to {_LONGEST} characters", 0, 1)
        self.position = self.text.index("=") + 1
        amount = self._sum()
        if self._next():
            raise self._left_over()
        return amount

    def _sum(self) -> Amount:
        amount = self._product()
        while (sign := _SIGNS.get(self._next())) in ("+", "-"):
            self.position += 1
            start = self._begin()
            other = self._product()
            amount = self._step(start, amount.plus, other, 1 if sign == "+" else -1)
        return amount

    def _product(self) -> Amount:
        amount = self._signed(may_be_fraction=True)
        while (sign := _SIGNS.get(self._next())) in ("*", "/"):
            self.position += 1
            start = self._begin()
            other = self._signed(may_be_fraction=sign == "*")
            amount = self._step(start, amount.times, other, 1 if sign == "*" else -1)
        return amount

    def _signed(self, *, may_be_fraction: bool) -> Amount:
        start = self._begin()
        is_negative = False
        while (sign := _SIGNS.get(self._next())) in ("+", "-"):
            is_negative ^= sign == "-"
            self.position += 1
        if self._next().isdigit() or self._next() == ".":
            return self._quantity(is_negative, may_be_fraction)
        amount = self._value()
        return self._step(start, amount.negative) if is_negative else amount

    def _value(self) -> Amount:
        start = self._begin()
        if self._next() == "(":
            return self._bracket()[0]
        match = _NAME.match(self.text, self.position)
        if match is None:
            raise self._no_value()
        self.position = match.end()
        name = match.group()
        if name in FUNCTIONS:
            if self._next() != "(":
                raise self._error(
                    "MEASURE-001", f'"{name}" needs brackets', f'write "{FUNCTIONS[name]}"', start, len(name)
                )
            arguments = self._bracket(is_call=True)
            return self._step(start, call, name, arguments)
        if name == "pi":
            return _PI
        try:
            return self._step(start, self.lookup, name)
        except KeyError:
            raise self._unknown(name, start) from None

    def _bracket(self, *, is_call: bool = False) -> list[Amount]:
        opened = self.position
        self.depth += 1
        if self.depth > _DEEPEST:
            raise self._error(
                "MEASURE-001", "there are too many brackets within each other", "name a part of it", opened, 1
            )
        self.position += 1
        amounts = [self._sum()]
        while is_call and self._next() == ",":
            self.position += 1
            amounts.append(self._sum())
        if self._next() != ")":
            if self._next():
                raise self._left_over()
            raise self._error("MEASURE-001", "this bracket is not closed", 'add ")"', opened, 1)
        self.position += 1
        self.depth -= 1
        return amounts

    def _quantity(self, is_negative: bool, may_be_fraction: bool) -> Amount:
        start = self.position
        first, end = self._number()
        unit = self._unit(end)
        if not may_be_fraction and "/" in self.text[start:end]:
            whole = self.text[start : self.text.index("/", start)]
            if unit is not None or not whole.isdigit():
                raise self._error(
                    "MEASURE-001",
                    "it is unclear what is divided by what",
                    f'put brackets around it, such as "({self.text[start : self.position]})"',
                    start,
                    self.position - start,
                )
            # "x / 1/2" divides twice, as it does in any sum without units.
            end = self.position = start + len(whole)
            first = Fraction(whole)
        sign = -1 if is_negative else 1
        if unit is None:
            self._check_no_unknown_unit(start, end)
            return self._step(start, _exactly, sign * first)
        total, last = first, unit
        while unit is not None and self._next().isdigit():
            more_start = self.position
            more, more_end = self._number()
            smaller = self._unit(more_end)
            if smaller is None:
                what = self.text[more_start:more_end]
                raise self._error(
                    "MEASURE-001", f'"{what}" has no unit', "write its unit, or a sign before it", more_start, len(what)
                )
            if not set(smaller.kinds) & set(unit.kinds) or smaller.factor >= last.factor or smaller.offset:
                raise self._error(
                    "MEASURE-001",
                    f'"{smaller.name}" can\'t follow "{last.name}"',
                    'write a sign between them, or the larger unit first, such as "8 ft 6 in"',
                    more_start,
                    self.position - more_start,
                )
            total += more * smaller.factor / unit.factor
            last = smaller
        return self._step(start, in_unit, sign * total, unit)

    def _number(self) -> tuple[Fraction, int]:
        try:
            found = read_number(self.text, self.position)
        except ZeroDivisionError:
            raise self._error(
                "MEASURE-005", "this divides by nothing", "divide by something that isn't zero", self.position, 1
            ) from None
        if found is None:
            raise self._no_value()
        self.position = found[1]
        return found

    def _unit(self, end: int) -> Unit | None:
        """Return the unit that follows a number ending at ``end``, and go past it."""
        begin = self._begin()
        best = ""
        for spelling in unit_table().by_spelling:
            if len(spelling) > len(best) and self.text.startswith(spelling, begin):
                following = self.text[begin + len(spelling) : begin + len(spelling) + 1]
                is_cut = spelling[-1].isalnum() and (following.isalnum() or following in ("_", "²", "³"))
                if not (is_cut and following):
                    best = spelling
        if not best:
            self.position = end
            return None
        self.position = begin + len(best)
        return unit_table().by_spelling[best]

    def _check_no_unknown_unit(self, start: int, end: int) -> None:
        """Refuse a word right after a number: a unit misspelled, or a sign forgotten."""
        begin = self._begin()
        match = _NAME.match(self.text, begin)
        if match is None:
            return
        word, written = match.group(), self.text[start:end]
        if word in self.names or word in FUNCTIONS or word == "pi":
            raise self._error(
                "MEASURE-001",
                f'there is no sign between "{written}" and "{word}"',
                f'write "{written} * {word}"',
                begin,
                len(word),
            )
        near = unit_table().nearest(word, None)
        do = f'did you mean "{written} {near.name}"?' if near else 'write a unit, such as "cm", or a sign'
        raise self._error("UNIT-002", f'"{word}" is not a known unit', do, begin, len(word))

    def _next(self) -> str:
        """Return the next sign that isn't a space; nothing at the end."""
        return self.text[self._begin() : self.position + 1]

    def _begin(self) -> int:
        match = _SPACE.match(self.text, self.position)
        assert match is not None
        self.position = match.end()
        return self.position

    def _step(self, start: int, step: Callable[..., Amount], *arguments: object) -> Amount:
        """Do one step of arithmetic; what is wrong with it is marked from ``start`` to here."""
        try:
            return step(*arguments)
        except AmountError as error:
            raise self._error(error.code, error.summary, error.do, start, self.position - start) from None

    # What follows makes the messages.

    def _error(self, code: str, summary: str, do: str, start: int, length: int) -> FormulaError:
        end = len(self.text[: start + length].rstrip())
        return FormulaError(Problem(code, summary, f'"{self.text}"', ALLOWED, do), start, max(1, end - start))

    def _no_value(self) -> FormulaError:
        found = self._next()
        if not found:
            return self._error(
                "MEASURE-001", "the formula ends too early", "add what is missing", len(self.text.rstrip()) - 1, 1
            )
        summary = f'a number, a quantity or a measure is missing before "{found}"'
        return self._error("MEASURE-001", summary, "add it, or delete a sign", self.position, 1)

    def _left_over(self) -> FormulaError:
        found = self._next()
        match = _NAME.match(self.text, self.position)
        if match is None and not (found.isdigit() or found in "(.),"):
            summary, do = f'"{found}" has no place in a formula', "delete it"
            return self._error("MEASURE-001", summary, do, self.position, 1)
        if found in "),":
            summary = f'"{found}" has no bracket that it belongs to'
            return self._error("MEASURE-001", summary, "delete it, or open a bracket before", self.position, 1)
        what = match.group() if match else found
        summary = f'there is no sign before "{what}"'
        return self._error("MEASURE-001", summary, "write + - * or / before it", self.position, len(what))

    def _unknown(self, name: str, start: int) -> FormulaError:
        if name in unit_table().by_spelling:
            summary = f'"{name}" is a unit, and no number stands before it'
            return self._error(
                "MEASURE-001", summary, f'write a number before it, such as "1 {name}"', start, len(name)
            )
        known = [*self.names, *FUNCTIONS]
        near = difflib.get_close_matches(name, known, n=1, cutoff=0.55)
        do = f'did you mean "{near[0]}"?' if near else f'add {name} = "..." to [measures]'
        return self._error("MEASURE-002", f'there is no measure "{name}"', do, start, len(name))


def _exactly(value: Fraction) -> Amount:
    """Return a plain number, exact."""
    return Amount(Fraction(0)).plus(Amount(value))
