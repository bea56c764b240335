"""The piece's measures: numbers with names, and the formulas that are made of them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from lampwright.formula import (
    NUMBER,
    Amount,
    AmountError,
    FormulaError,
    is_formula,
    names_in,
    phrase_of,
    plain_number,
    reserved_names,
    work_out,
)
from lampwright.piece.report import Fault, Report, spoken
from lampwright.units import Problem, UnitError, parse_any

TABLE = "measures"
"""The table's name in the piece file."""

_NAME = re.compile(r"[a-z][a-z0-9_]{0,39}")
_DEEPEST = 40
"""Measures made of each other; more would be a slip, or a file that wants to do harm."""


class NoMeasureError(Exception):
    """A measure that was found at fault already: what is made of it stays unread, without a word more."""


class Measures:
    """All measures of a piece; each is worked out once, when it is first asked for."""

    def __init__(self, raw: Mapping[str, Any]) -> None:
        self._raw = raw
        self._amounts: dict[str, Amount | None] = {}
        self._open: list[str] = []
        self._faults: list[tuple[str, Fault]] = []

    @property
    def names(self) -> tuple[str, ...]:
        """The names of all measures, in file order."""
        return tuple(self._raw)

    def work_out(self, formula: str) -> Amount:
        """Return what a formula gives.

        Raises
        ------
        FormulaError
            What is wrong with it.
        NoMeasureError
            It needs a measure that is at fault itself.
        """
        if not is_formula(formula):
            raise FormulaError(_not_begun(formula), 0, len(formula))
        return work_out(formula, self._amount, self.names)

    def report_faults(self, report: Report) -> None:
        """Work out every measure and report all that is wrong with them."""
        for name in self._raw:
            if _NAME.fullmatch(name) is None or name in reserved_names():
                report.at_key((TABLE, name), _bad_name(name))
            try:
                self._amount(name)
            except NoMeasureError:
                continue
        for name, fault in self._faults:
            report.fault((TABLE, name), fault)

    def _amount(self, name: str) -> Amount:
        if name not in self._raw:
            raise KeyError(name)
        if name not in self._amounts:
            self._check_circle(name)
            self._open.append(name)
            self._amounts[name] = self._read(name)
            self._open.pop()
        amount = self._amounts[name]
        if amount is None:
            raise NoMeasureError
        return amount

    def _check_circle(self, name: str) -> None:
        if name in self._open:
            circle = " → ".join([*self._open[self._open.index(name) :], name])
            raise AmountError("MEASURE-003", f"these measures go round in a circle: {circle}", "give one a value")
        if len(self._open) >= _DEEPEST:
            summary = f"this is made of more than {_DEEPEST} measures, one of the other"
            raise AmountError("MEASURE-003", summary, "give one of them a value of its own")

    def _read(self, name: str) -> Amount | None:
        """Return a measure's amount, or ``None`` after noting what is wrong with it."""
        raw = self._raw[name]
        try:
            return self._worked_out(raw)
        except NoMeasureError:
            return None
        except (UnitError, FormulaError) as error:
            fault = Fault(error.problem, start=error.start, length=error.length)
        except AmountError as error:  # a bare number without end
            fault = Fault(Problem(error.code, error.summary, spoken(raw), "a number up to 1e15", error.do))
        except TypeError:
            fault = Fault(_wrong_type(raw))
        self._faults.append((name, fault))
        return None

    def _worked_out(self, raw: object) -> Amount:
        if isinstance(raw, int | float) and not isinstance(raw, bool):
            return plain_number(raw)
        if not isinstance(raw, str):
            raise TypeError
        if is_formula(raw):
            return self.work_out(raw)
        try:
            parse_any(raw)
        except UnitError:
            if not _begins_with(raw, self):
                raise
            raise UnitError(_not_begun(raw), raw, 0, len(raw)) from None
        return work_out(f"= {raw}", self._amount, ())


class MeasuredText(str):
    """A text of the file that is a formula, or seems meant as one."""

    measures: Measures

    def amount(self) -> Amount:
        """Return what the formula gives; raises as :meth:`Measures.work_out`."""
        return self.measures.work_out(self)


def with_measures(raw: Any, measures: Measures) -> Any:
    """Return the file's entries with each formula in them made a :class:`MeasuredText`."""
    if isinstance(raw, dict):
        return {key: with_measures(value, measures) for key, value in raw.items()}
    if isinstance(raw, list):
        return [with_measures(value, measures) for value in raw]
    if isinstance(raw, str) and (is_formula(raw) or _begins_with(raw, measures)):
        text = MeasuredText(raw)
        text.measures = measures
        return text
    return raw


def read_measures(raw: Any, report: Report) -> Measures:
    """Return the measures of the table as it stands in the file, and report what is wrong with them."""
    if not isinstance(raw, dict):
        report.at_value((TABLE,), _wrong_table(raw))
        raw = {}
    measures = Measures(raw)
    measures.report_faults(report)
    return measures


def of_another_kind(raw: str, amount: Amount, meant: str, example: str) -> Problem:
    """Return the problem of a formula that gives something else than what is meant."""
    gives = phrase_of(amount.dimension)
    do = f"write a formula that gives {meant}, or {example}"
    if amount.dimension == NUMBER:
        do = f"multiply it by a quantity that makes it {meant}, or write {example}"
    summary = f"this formula gives {gives}; {meant} is meant here"
    return Problem("MEASURE-004", summary, said_with_value(raw, amount), f"{meant}, such as {example}", do)


def said_with_value(raw: str, amount: Amount) -> str:
    """Return a formula with what it gives, for messages."""
    return f"{spoken(str(raw))}, which is {amount.spoken()}"


def _begins_with(text: str, measures: Measures) -> bool:
    """Return whether a text begins with the name of a measure, as a formula without its sign does."""
    return bool(measures.names) and text.lstrip(" (").startswith(measures.names) and names_in(text)[0] in measures.names


def _not_begun(text: str) -> Problem:
    allowed = 'a formula begins with "="'
    return Problem("MEASURE-001", "this is a formula without its sign", spoken(str(text)), allowed, f'write "= {text}"')


def _bad_name(name: str) -> Problem:
    allowed = 'small letters (a to z), digits and "_", beginning with a letter; no unit and no function of formulas'
    summary = f"{spoken(name)} can't be the name of a measure"
    return Problem("PIECE-008", summary, spoken(name), allowed, "choose another, such as span")


def _wrong_type(raw: object) -> Problem:
    summary = f"a quantity or a formula is meant here, not {spoken(raw)}"
    allowed = 'a quantity, a number or a formula, such as "2.4 m", 4 or "= span / 2"'
    return Problem("PIECE-005", summary, spoken(raw), allowed, 'write "2.4 m"')


def _wrong_table(raw: object) -> Problem:
    return Problem(
        "PIECE-005",
        f"a table is meant here, not {spoken(raw)}",
        spoken(raw),
        f'[{TABLE}] on a line of its own, such as span = "2.4 m" below it',
        f"write [{TABLE}] with one bracket on each side",
    )
