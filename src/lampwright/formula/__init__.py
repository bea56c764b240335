"""Formulas of quantities: in comes text such as "= span / 2 + 10 cm", out comes an :class:`Amount` with its dimension.

Nothing is executed: the text is read sign by sign, and units are checked at every step.
"""

from lampwright.formula.amount import Amount
from lampwright.formula.amount import number as plain_number
from lampwright.formula.dimension import KIND_DIMENSIONS, NUMBER, Dimension, kind_of, phrase_of
from lampwright.formula.functions import FUNCTIONS
from lampwright.formula.problems import AmountError, FormulaError
from lampwright.formula.read import is_formula, names_in, reserved_names, work_out

__all__ = [
    "FUNCTIONS",
    "KIND_DIMENSIONS",
    "NUMBER",
    "Amount",
    "AmountError",
    "Dimension",
    "FormulaError",
    "is_formula",
    "kind_of",
    "names_in",
    "phrase_of",
    "plain_number",
    "reserved_names",
    "work_out",
]
