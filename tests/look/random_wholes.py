"""Random whole-number values: every operation at every width and sign, where looks seldom go."""

from __future__ import annotations

import random

import numpy as np

from lampwright.look.tables import BLEND, EASE, SHUFFLE, SINE, SWELL, Table
from lampwright.look.whole import RangeError, Whole, Wholes, narrowest
from lampwright.look.writing import FunctionPlan

N_PIXEL = 40
LAST_FRAME = (1 << 32) - 1
EDGES = sorted({
    sign * ((1 << bits) + step) for bits in (0, 1, 3, 7, 8, 9, 15, 16, 17, 24, 30, 31) for step in (-1, 0, 1)
    for sign in (1, -1) if sign * ((1 << bits) + step) >= -(1 << 31)
} | {(1 << 32) - 1, (1 << 32) - 2})  # fmt: skip
"""Numbers where types end."""

EDGE_TIMES = np.array([0, 1, 2, 77, 65_535, 65_536, (1 << 24) - 1, (1 << 31) - 1, 1 << 31, LAST_FRAME])

MADE = (
    "add", "subtract", "multiply", "divide", "shift right", "shift left", "low bits", "wrap add",
    "wrap multiply", "least", "most", "magnitude", "below", "at most", "equal", "both", "either", "not", "choose",
    "blend", "bump", "scramble", "look up", "curve", "short product",
)  # fmt: skip
"""Ways to make a value from others; a short product is one whose lower bytes nobody asks for."""


class Growth:
    """Makes values from values that are there, and keeps those that a chip's types hold."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)
        self.wholes = Wholes()
        self.values: list[Whole] = [self.clock(), self.clock(), *(self.pixel() for _ in range(4))]

    def pixel(self, low: int | None = None, high: int | None = None) -> Whole:
        """Return a table of a random width, with its ends in it."""
        if low is None or high is None:
            ends = sorted(self.random.sample(EDGES, 2))
            while ends[0] < 0 and ends[1] >= 1 << 31:
                ends = sorted(self.random.sample(EDGES, 2))
            low, high = ends
        inner = [self.random.randint(low, high) for _ in range(N_PIXEL - 2)]
        return self.wholes.pixel(Table("own", np.array([low, high, *inner], dtype=np.int64), "one entry per pixel"))

    def clock(self) -> Whole:
        """Return a part of the frame number times something."""
        if self.random.random() < 0.2:
            return self.wholes.clock(1, 0, self.random.randint(1, 32), LAST_FRAME)
        increment = self.random.getrandbits(self.random.choice((8, 24, 40, 64)))
        bits = self.random.randint(1, 32)
        return self.wholes.clock(increment, self.random.randint(0, 32), bits, LAST_FRAME)

    def pick(self) -> Whole:
        """Return a value: mostly a late one, sometimes a number."""
        if self.random.random() < 0.15:
            return self.wholes.constant(self.random.choice(EDGES))
        return self.random.choice(self.values[-8:] if self.random.random() < 0.6 else self.values)

    def within(self, bits: int) -> Whole:
        """Return a value of so many bits, none below zero."""
        value = self.pick()
        return value if value.low >= 0 and value.high < 1 << bits else self.wholes.low_bits(value, bits)

    def signed(self, bits: int) -> Whole:
        """Return a value of so many bits, with or without a sign."""
        if self.random.random() < 0.5:
            return self.within(bits)
        return self.wholes.subtract(self.within(bits - 1), self.wholes.constant(1 << (bits - 1)))

    def test(self) -> Whole:
        """Return a yes or no."""
        return self.compare(self.random.choice(("below", "at most", "equal")))

    def compare(self, way: str) -> Whole:
        """Return a comparison: of two values, or of one with a number that it often takes."""
        left, right = self.pick(), self.pick()
        if self.random.random() < 0.7:
            right = self.wholes.constant(self.random.choice((left.low, left.high)))
        if self.random.random() < 0.3:
            left, right = right, left
        return self.wholes.truth(way, *self.together(left, right))

    def together(self, left: Whole, right: Whole) -> tuple[Whole, Whole]:
        """Return two values that one type holds."""
        narrowest(min(left.low, right.low), max(left.high, right.high))
        return left, right

    def grow(self, way: str) -> Whole:
        """Return a new value; raise :class:`RangeError` where no type holds it or its parts together."""
        new = self._grown(way)
        if new.operation not in {"choose", "wrap add", "wrap multiply", "low bits"}:
            every = (new, *new.arguments)
            narrowest(min(node.low for node in every), max(node.high for node in every))
        self.values.append(new)
        return new

    def _grown(self, way: str) -> Whole:
        wholes, some = self.wholes, self.random
        if way in {"add", "subtract", "multiply", "least", "most"}:
            make = {"add": wholes.add, "subtract": wholes.subtract, "multiply": wholes.multiply,
                    "least": wholes.least, "most": wholes.most}[way]  # fmt: skip
            return make(*self.together(self.pick(), self.pick()))
        if way == "divide":
            bits = some.choice((7, 8, 15, 16))
            return wholes.divide(
                self.signed(some.choice((8, 16, 31))), wholes.add(self.within(bits), wholes.constant(1))
            )
        if way.startswith("shift"):
            return wholes.shift(self.pick(), some.randint(1, 31) * (1 if way == "shift right" else -1))
        if way == "low bits":
            return wholes.low_bits(self.pick(), some.randint(1, 32))
        if way.startswith("wrap"):
            return wholes.wrap(way, self.within(32), self.within(32), some.randint(1, 32))
        if way == "magnitude":
            return wholes.magnitude(self.pick())
        if way in {"below", "at most", "equal"}:
            return self.compare(way)
        if way in {"both", "either"}:
            return wholes.truth(way, self.test(), self.test())
        if way == "not":
            return wholes.truth(way, self.test())
        if way == "choose":
            return wholes.choose(self.test(), self.pick(), self.pick())
        if way == "short product":
            bits, other, shift = some.choice(((16, 8, 8), (8, 16, 8), (16, 16, 16), (16, 16, 15), (16, 8, 9)))
            return wholes.shift(wholes.multiply(self.signed(bits), self.signed(other)), shift)
        return self._read(way)

    def _read(self, way: str) -> Whole:
        wholes = self.wholes
        if way == "blend":
            return wholes.blend(self.within(8), self.within(8), self.within(8))
        if way == "bump":
            return wholes.bump(self.within(8), self.within(8))
        if way == "scramble":
            return wholes.scramble(self.within(16))
        if way == "look up":
            return wholes.look_up(self.random.choice((SHUFFLE, BLEND)), self.within(8))
        return wholes.curve(self.random.choice((SINE, SWELL, EASE)), self.within(16))

    def plan(self, first: Whole, second: Whole, third: Whole) -> FunctionPlan:
        """Return a function that puts a byte of each of three values."""
        shifts = [self.random.choice((0, 0, 8, 16, 24)) for _ in range(3)]
        red, green, blue = (
            self.wholes.low_bits(self.wholes.shift(value, shift), 8)
            for value, shift in zip((first, second, third), shifts, strict=True)
        )
        return FunctionPlan("look", ("random",), (red, green, blue), {}, N_PIXEL)


def random_plan(seed: int) -> FunctionPlan:
    """Return a function of about twenty random values."""
    growth = Growth(seed)
    for _ in range(40):
        try:
            growth.grow(growth.random.choice(MADE))
        except RangeError:
            continue
    return growth.plan(*growth.values[-3:])


def probe(operation: str, count: int = 6) -> tuple[FunctionPlan, ...]:
    """Return functions that lay open, byte by byte, values made in one of the ways of :data:`MADE`."""
    plans: list[FunctionPlan] = []
    for seed in range(400):
        growth = Growth(seed)
        try:
            value = _only(growth, operation)
        except RangeError:
            continue
        if value.low == value.high or value.operation != _MADE_BY.get(operation, operation):
            continue
        codes = [growth.wholes.low_bits(growth.wholes.shift(value, shift), 8) for shift in (0, 8, 16, 24)]
        for at in (1, 2):
            plans.append(FunctionPlan("look", (operation,), (codes[0], codes[at], codes[at + 1]), {}, N_PIXEL))
        if len(plans) >= count:
            break
    return tuple(plans)


_MADE_BY = {"short product": "shift right"}


def _only(growth: Growth, way: str) -> Whole:
    if way == "clock":
        return growth.clock()
    return growth.pixel() if way == "pixel" else growth.grow(way)
