"""What can be wrong with a formula, with the characters that are to blame."""

from __future__ import annotations

from lampwright.units import MakerError, Problem

ALLOWED = 'numbers, quantities, measures and functions with + - * / and ( ), such as "= span / 2 + 10 cm"'


class FormulaError(MakerError):
    """A formula that gives nothing; ``start`` and ``length`` mark the fault in its text, in characters."""

    def __init__(self, problem: Problem, start: int, length: int) -> None:
        super().__init__([problem])
        self.start = start
        self.length = length

    @property
    def problem(self) -> Problem:
        """The one problem."""
        return self.problems[0]


class AmountError(Exception):
    """A step of arithmetic that makes no sense; whoever reads the formula knows where it stands."""

    def __init__(self, code: str, summary: str, do: str) -> None:
        super().__init__(summary)
        self.code = code
        self.summary = summary
        self.do = do
