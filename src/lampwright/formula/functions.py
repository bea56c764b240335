"""The functions of formulas."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction

from lampwright.formula.amount import Amount, angle, number
from lampwright.formula.dimension import ANGLE, NUMBER, Dimension, phrase_of
from lampwright.formula.problems import AmountError

FUNCTIONS: Mapping[str, str] = {
    "sqrt": "sqrt(area)",
    "sin": "sin(angle)",
    "cos": "cos(angle)",
    "tan": "tan(angle)",
    "atan": "atan(rise / run)",
    "least": "least(one, other)",
    "most": "most(one, other)",
    "round": "round(number)",
    "round_up": "round_up(number)",
    "round_down": "round_down(number)",
}
"""How each is written, by its name."""

_ROUND: Mapping[str, Callable[[Fraction], int]] = {"round": round, "round_up": math.ceil, "round_down": math.floor}
_OF_ANGLES = {"sin": math.sin, "cos": math.cos, "tan": math.tan}


def call(name: str, arguments: Sequence[Amount]) -> Amount:
    """Return what a function gives.

    Raises
    ------
    AmountError
        Too many arguments, or one of a dimension that the function doesn't take.
    """
    if name in ("least", "most"):
        return _chosen(name, arguments)
    if len(arguments) != 1:
        raise AmountError("MEASURE-001", f'"{name}" takes one value', f'write "{FUNCTIONS[name]}"')
    (argument,) = arguments
    if name == "sqrt":
        return _root(argument)
    if name in _OF_ANGLES:
        _ask(name, argument, ANGLE)
        return number(_OF_ANGLES[name](argument.value))
    _ask(name, argument, NUMBER)
    if name == "atan":
        return angle(math.atan(argument.value))
    return number(_ROUND[name](argument.number))


def _chosen(name: str, arguments: Sequence[Amount]) -> Amount:
    for other in arguments[1:]:
        if other.dimension != arguments[0].dimension:
            one, two = phrase_of(arguments[0].dimension), phrase_of(other.dimension)
            raise AmountError("MEASURE-004", f"{two} can't be compared with {one}", "compare only like quantities")
    choose = min if name == "least" else max
    return choose(arguments, key=lambda amount: amount.number)


def _root(argument: Amount) -> Amount:
    if any(power % 2 for power in argument.dimension):
        summary = f"the root of {phrase_of(argument.dimension)} is no quantity"
        raise AmountError("MEASURE-004", summary, 'take the root of a number or an area, such as "sqrt(a * a + b * b)"')
    if argument.number < 0:
        raise AmountError("MEASURE-005", "this is the root of less than nothing", "check the numbers of the formula")
    length, mass, time, current, temperature, turned, memory = (power // 2 for power in argument.dimension)
    halved: Dimension = (length, mass, time, current, temperature, turned, memory)
    return Amount(argument.number, halved).rounded(math.sqrt(argument.value))


def _ask(name: str, argument: Amount, dimension: Dimension) -> None:
    if argument.dimension != dimension:
        found, meant = phrase_of(argument.dimension), phrase_of(dimension)
        raise AmountError("MEASURE-004", f'"{name}" takes {meant}, not {found}', f'write "{FUNCTIONS[name]}"')
