"""Whole-number values: the one exact meaning that every back-end follows.

Each node is an integer operation on integers, with the lowest and highest value it can
take proven when it is made. Back-ends pick the narrowest type that holds that range;
nothing ever overflows, so numpy, C++ and any later back-end agree to the last bit.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lampwright.look.graph import Rate
from lampwright.look.steady import blend, bump
from lampwright.look.tables import Curve, Table, scramble

Integers = NDArray[np.int64]

TYPES: tuple[tuple[str, int, int], ...] = (
    ("uint8_t", 0, 255),
    ("int8_t", -128, 127),
    ("uint16_t", 0, 65535),
    ("int16_t", -32768, 32767),
    ("uint32_t", 0, 4294967295),
    ("int32_t", -2147483648, 2147483647),
)
"""The types that a chip has, narrowest first."""


class RangeError(Exception):
    """A value that no type of the chip holds."""

    def __init__(self, low: int, high: int) -> None:
        self.low, self.high = low, high
        super().__init__(f"{low} to {high}")


def narrowest(low: int, high: int) -> str:
    """Return the narrowest type that holds ``low`` to ``high``."""
    for name, least, most in TYPES:
        if least <= low and high <= most:
            return name
    raise RangeError(low, high)


@dataclass(frozen=True, eq=False)
class Whole:
    """An integer value. ``numbers`` are the operation's own constants, see :data:`MEANINGS`."""

    operation: str
    arguments: tuple[Whole, ...]
    numbers: tuple[int, ...]
    data: Table | Curve | None
    low: int
    high: int
    rate: Rate

    @property
    def ctype(self) -> str:
        """The narrowest type that holds its range."""
        return narrowest(self.low, self.high)


def _clock(numbers: tuple[int, ...], frame: Integers) -> Integers:
    increment, shift, bits = numbers
    product = frame.astype(np.uint64) * np.uint64(increment % (1 << 64))
    return ((product >> np.uint64(shift)) & np.uint64((1 << bits) - 1)).astype(np.int64)


def _wrapped_sum(numbers: tuple[int, ...], a: Integers, b: Integers) -> Integers:
    return (a + b) & ((1 << numbers[0]) - 1)


def _choice(test: Integers, yes: Integers, no: Integers) -> Integers:
    chosen: Integers = np.where(np.asarray(test, dtype=bool), yes, no)
    return chosen


def _wrapped_product(numbers: tuple[int, ...], a: Integers, b: Integers) -> Integers:
    product = a.astype(np.uint64) * b.astype(np.uint64)
    return (product & np.uint64((1 << numbers[0]) - 1)).astype(np.int64)


MEANINGS: dict[str, Callable[..., Integers]] = {
    "add": lambda _, a, b: a + b,
    "subtract": lambda _, a, b: a - b,
    "multiply": lambda _, a, b: a * b,
    # floor division by a positive number
    "divide": lambda _, a, b: a // b,
    # floor shift: toward minus infinity
    "shift right": lambda n, a: a >> n[0],
    "shift left": lambda n, a: a << n[0],
    # the lowest bits of the two's complement number, from 0 up
    "low bits": lambda n, a: a & ((1 << n[0]) - 1),
    "wrap add": _wrapped_sum,
    "wrap multiply": _wrapped_product,
    "least": lambda _, a, b: np.minimum(a, b),
    "most": lambda _, a, b: np.maximum(a, b),
    "magnitude": lambda _, a: np.abs(a),
    "below": lambda _, a, b: (a < b).astype(np.int32),
    "at most": lambda _, a, b: (a <= b).astype(np.int32),
    "equal": lambda _, a, b: (a == b).astype(np.int32),
    "both": lambda _, a, b: a & b,
    "either": lambda _, a, b: a | b,
    "not": lambda _, a: 1 - a,
    "choose": lambda _, test, yes, no: _choice(test, yes, no),
    # weights that add up to 255
    "blend": lambda _, start, end, weight: blend(start, end, weight),
    "bump": lambda _, cell, weight: bump(cell, weight),
    "scramble": lambda _, a: scramble(a),
}
"""What each operation means, on arrays of integers; ``n`` are its own numbers. The four that
read data stand in :func:`evaluate_one`: "constant", "pixel" (one table entry per pixel), "look up"
(a table entry by number) and "curve" (:meth:`lampwright.look.tables.Curve.at`); "clock" is the
frame number times an increment, shifted right, its lowest bits."""


def _fits_32(node: Whole) -> bool:
    return node.low >= -(1 << 31) and node.high < 1 << 31


def _working_type(node: Whole) -> type[np.int32] | type[np.int64]:
    """Return the type to work in: 32 bits are twice as fast, where all of the operation fits."""
    wide = node.operation in {"scramble", "wrap multiply"} or not all(map(_fits_32, (node, *node.arguments)))
    return np.int64 if wide else np.int32


def evaluate_one(node: Whole, arguments: list[Integers], frame: Integers) -> Integers:
    """Return a node's value from its arguments' values and the cue's frame numbers (n_frame, 1)."""
    dtype = _working_type(node)
    if node.operation == "constant":
        return np.array(node.numbers[0], dtype=dtype)
    if node.operation == "clock":
        return _clock(node.numbers, frame).astype(dtype)
    if isinstance(node.data, Curve):
        return node.data.at(arguments[0])
    if isinstance(node.data, Table):
        return node.data.fast if node.operation == "pixel" else node.data.fast.take(arguments[0])
    if dtype is np.int64:
        arguments = [a.astype(np.int64) for a in arguments]
    value = MEANINGS[node.operation](node.numbers, *arguments)
    return value if dtype is np.int64 and not _fits_32(node) else value.astype(np.int32, copy=False)


def _certain(operation: str, arguments: tuple[Whole, ...]) -> int | None:
    """Return what ranges alone tell of a truth, or ``None``."""
    a, b = arguments[0], arguments[-1]
    if operation == "not":
        return 1 - a.low if a.low == a.high else None
    if operation in {"both", "either"}:
        decided = [x.low for x in (a, b) if x.low == x.high]
        deciding = 0 if operation == "both" else 1
        if deciding in decided:
            return deciding
        return 1 - deciding if len(decided) == 2 else None
    never = {"below": a.low >= b.high, "at most": a.low > b.high, "equal": a.low > b.high or a.high < b.low}
    always = {"below": a.high < b.low, "at most": a.high <= b.low, "equal": False}
    if a is b:
        return 0 if operation == "below" else 1
    if always[operation]:
        return 1
    return 0 if never[operation] else None


@dataclass
class Wholes:
    """Makes whole-number nodes, each once, and proves their ranges."""

    _nodes: dict[tuple[object, ...], Whole] = field(default_factory=dict)

    def constant(self, value: int) -> Whole:
        """Return a number."""
        return self._node("constant", (), (value,), None, value, value)

    def clock(self, increment: int, shift: int, bits: int, last_frame: int) -> Whole:
        """Return ``(frame * increment) >> shift``, its lowest ``bits``."""
        most = (1 << bits) - 1
        high = (last_frame * increment) >> shift if increment >= 0 else most
        return self._node("clock", (), (increment, shift, bits), None, 0, min(high, most), Rate.FRAME)

    def pixel(self, table: Table) -> Whole:
        """Return a table's entry for each pixel."""
        key = ("pixel", table.values.tobytes())
        if key not in self._nodes:
            self._nodes[key] = Whole("pixel", (), (), table, table.lowest, table.highest, Rate.PIXEL)
        return self._nodes[key]

    def look_up(self, table: Table, index: Whole) -> Whole:
        """Return a table's entry by number; the index has to lie within it."""
        assert index.low >= 0
        assert index.high < len(table.values)
        part = table.values[index.low : index.high + 1]
        return self._node("look up", (index,), (), table, int(part.min()), int(part.max()))

    def curve(self, curve: Curve, phase: Whole) -> Whole:
        """Return a curve at a phase of 16 bits."""
        assert phase.low >= 0
        assert phase.high <= 65535
        return self._node("curve", (phase,), (), curve, curve.lowest, curve.highest)

    def blend(self, start: Whole, end: Whole, weight: Whole) -> Whole:
        """Return ``start * (255 - weight) + end * weight`` of three values of 8 bits."""
        for part in (start, end, weight):
            assert part.low >= 0
            assert part.high <= 255
        low, high = 255 * min(start.low, end.low), 255 * max(start.high, end.high)
        return self._node("blend", (start, end, weight), (), None, low, high)

    def bump(self, cell: Whole, weight: Whole) -> Whole:
        """Return the blend from a lattice cell's shuffled number to the next one's."""
        for part in (cell, weight):
            assert part.low >= 0
            assert part.high <= 255
        return self._node("bump", (cell, weight), (), None, 0, 255 * 255)

    def scramble(self, value: Whole) -> Whole:
        """Return 16 random bits made from 16 bits."""
        assert value.low >= 0
        assert value.high <= 65535
        return self._node("scramble", (value,), (), None, 0, 65535)

    def wrap(self, operation: str, left: Whole, right: Whole, bits: int) -> Whole:
        """Return a sum or product, its lowest ``bits``."""
        return self._node(operation, (left, right), (bits,), None, 0, (1 << bits) - 1)

    def low_bits(self, value: Whole, bits: int) -> Whole:
        """Return the lowest ``bits`` of a value."""
        if value.low >= 0 and value.high < 1 << bits:
            return value
        return self._node("low bits", (value,), (bits,), None, 0, (1 << bits) - 1)

    def shift(self, value: Whole, right: int) -> Whole:
        """Return a value shifted right (floor), or left where ``right`` is negative."""
        if right == 0:
            return value
        if value.operation == "constant":
            number = value.numbers[0]
            return self.constant(number >> right if right > 0 else number << -right)
        if right > 0:
            return self._node("shift right", (value,), (right,), None, value.low >> right, value.high >> right)
        return self._node("shift left", (value,), (-right,), None, value.low << -right, value.high << -right)

    def add(self, left: Whole, right: Whole) -> Whole:
        """Return a sum."""
        if right.operation == "constant" and right.numbers[0] == 0:
            return left
        return self._node("add", (left, right), (), None, left.low + right.low, left.high + right.high)

    def subtract(self, left: Whole, right: Whole) -> Whole:
        """Return a difference."""
        return self._node("subtract", (left, right), (), None, left.low - right.high, left.high - right.low)

    def multiply(self, left: Whole, right: Whole) -> Whole:
        """Return a product; a value times itself is never negative."""
        corners = [a * b for a in (left.low, left.high) for b in (right.low, right.high)]
        low = min(corners)
        if left is right:
            low = 0 if left.low <= 0 <= left.high else min(left.low**2, left.high**2)
        return self._node("multiply", (left, right), (), None, low, max(corners))

    def divide(self, above: Whole, below: Whole) -> Whole:
        """Return the floor of a quotient; the divisor has to be positive."""
        assert below.low > 0
        corners = [a // b for a in (above.low, above.high) for b in (below.low, below.high)]
        return self._node("divide", (above, below), (), None, min(corners), max(corners))

    def least(self, left: Whole, right: Whole) -> Whole:
        """Return the smaller value; the one itself where that is certain."""
        if left.high <= right.low:
            return left
        if right.high <= left.low:
            return right
        return self._node("least", (left, right), (), None, min(left.low, right.low), min(left.high, right.high))

    def most(self, left: Whole, right: Whole) -> Whole:
        """Return the larger value; the one itself where that is certain."""
        if left.low >= right.high:
            return left
        if right.low >= left.high:
            return right
        return self._node("most", (left, right), (), None, max(left.low, right.low), max(left.high, right.high))

    def magnitude(self, value: Whole) -> Whole:
        """Return a value without its sign."""
        if value.low >= 0:
            return value
        low = 0 if value.high >= 0 else -value.high
        return self._node("magnitude", (value,), (), None, low, max(-value.low, value.high))

    def truth(self, operation: str, *arguments: Whole) -> Whole:
        """Return 1 or 0 from a comparison or from other truths; a constant where it is certain."""
        certain = _certain(operation, arguments)
        if certain is not None:
            return self.constant(certain)
        return self._node(operation, arguments, (), None, 0, 1)

    def choose(self, test: Whole, yes: Whole, no: Whole) -> Whole:
        """Return ``yes`` where the test holds, else ``no``."""
        if yes is no or test.low == 1:
            return yes
        if test.high == 0:
            return no
        return self._node("choose", (test, yes, no), (), None, min(yes.low, no.low), max(yes.high, no.high))

    def _node(
        self,
        operation: str,
        arguments: tuple[Whole, ...],
        numbers: tuple[int, ...],
        data: Table | Curve | None,
        low: int,
        high: int,
        own_rate: Rate = Rate.CONSTANT,
    ) -> Whole:
        key = (operation, tuple(id(a) for a in arguments), numbers, id(data))
        if key not in self._nodes:
            narrowest(low, high)
            rate = own_rate
            for argument in arguments:
                rate |= argument.rate
            self._nodes[key] = Whole(operation, arguments, numbers, data, low, high, rate)
        return self._nodes[key]
