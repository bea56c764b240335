"""Amounts: exact numbers with a dimension, and the arithmetic that checks it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction

from lampwright.formula.dimension import (
    ANGLE,
    KIND_DIMENSIONS,
    NUMBER,
    TEMPERATURE,
    Dimension,
    kind_of,
    phrase_of,
    times,
)
from lampwright.formula.problems import AmountError
from lampwright.units import Kind, format_quantity
from lampwright.units.table import Unit

_MOST_BITS = 400
"""Of an exact number's two halves; longer ones are rounded, so that no formula can grow without end."""

_LARGEST = 1e15


@dataclass(frozen=True)
class Amount:
    """A number in SI units with its dimension.

    Sums and products stay exact until they are asked for as a float, so that "= 2.4 m / 2" is what "1.2 m" is.
    """

    number: Fraction
    """In SI units; angles in half turns, because pi has no exact number."""
    dimension: Dimension = NUMBER
    is_reading: bool = False
    """Whether it is a temperature on a scale ("-5 degC") and no difference of two ("5 K")."""

    @property
    def value(self) -> float:
        """The number in SI units, rounded once."""
        return float(self.number) * math.pi ** self.dimension[5]

    def spoken(self) -> str:
        """Return the amount as text, such as "1.3 m"."""
        kind = kind_of(self.dimension)
        if self.dimension == NUMBER or kind is None:
            return f"{self.value:.6g}"
        return format_quantity(self.value, kind, 6)

    def is_of(self, kind: Kind) -> bool:
        """Return whether it can stand where this kind is meant."""
        return self.dimension == KIND_DIMENSIONS[kind]

    def plus(self, other: Amount, sign: int = 1) -> Amount:
        """Return the sum, or with ``sign`` -1 the difference."""
        if self.dimension != other.dimension:
            one, two = phrase_of(self.dimension), phrase_of(other.dimension)
            verb = f"{two} can't be added to {one}" if sign > 0 else f"{two} can't be taken from {one}"
            raise AmountError("MEASURE-004", verb, "add and take away only like quantities")
        if other.is_reading and (sign > 0 or not self.is_reading):
            raise AmountError(
                "MEASURE-004",
                "a temperature on a scale can't be added to or taken from another",
                'add or take a difference in K, such as "= coldest - 5 K"',
            )
        is_reading = self.is_reading and not other.is_reading
        return _bounded(Amount(self.number + sign * other.number, self.dimension, is_reading))

    def times(self, other: Amount, power: int = 1) -> Amount:
        """Return the product, or with ``power`` -1 the quotient."""
        if self.is_reading or other.is_reading:
            raise AmountError(
                "MEASURE-004",
                "a temperature on a scale can't be multiplied or divided",
                "multiply a difference in K, or write the temperature itself",
            )
        if power < 0 and other.number == 0:
            raise AmountError("MEASURE-005", "this divides by nothing", "divide by something that isn't zero")
        number = self.number * other.number if power > 0 else self.number / other.number
        return _bounded(Amount(number, times(self.dimension, other.dimension, power)))

    def negative(self) -> Amount:
        """Return the amount with its sign changed."""
        return Amount(Fraction(0), self.dimension).plus(self, -1)

    def rounded(self, number: float) -> Amount:
        """Return an amount of the same dimension from a float in SI units."""
        return replace(self, number=_exact(number / math.pi ** self.dimension[5]))


def number(value: float) -> Amount:
    """Return a plain number."""
    return Amount(_exact(value))


def angle(radians: float) -> Amount:
    """Return an angle."""
    return Amount(_exact(radians / math.pi), ANGLE)


def in_unit(value: Fraction, unit: Unit) -> Amount:
    """Return ``value`` of a unit."""
    exact = (value + unit.offset) * unit.factor
    dimension = KIND_DIMENSIONS[unit.kinds[0]]
    if dimension == ANGLE and not unit.times_pi:
        exact /= Fraction(math.pi)
    return _bounded(Amount(exact, dimension, is_reading=dimension == TEMPERATURE and unit.offset != 0))


def _exact(value: float) -> Fraction:
    if not math.isfinite(value) or abs(value) > _LARGEST:
        raise AmountError(
            "MEASURE-005", "this gives more than any piece could need", "check the numbers of the formula"
        )
    return Fraction(value)


def _bounded(amount: Amount) -> Amount:
    size = abs(amount.number)
    if size > _LARGEST:
        _exact(math.inf)
    if max(size.numerator.bit_length(), size.denominator.bit_length()) > _MOST_BITS:
        return replace(amount, number=Fraction(float(amount.number)))
    return amount
