"""Lowers a look's real values to whole numbers: chooses every scale, proves every range.

A real value ``x`` becomes an integer near ``x * 2**places``. Values that change with pixel
and frame are kept to 16 bits wherever 8 binary places are left, and products are shifted
by whole bytes, which cost an 8-bit chip nothing. Values of a frame may take 31 bits.

Places that come around again (the turns of a sine, the lattice of a noise) are worked out
modulo their period, so that a show of hours loses no precision: see :meth:`Lowering.turns`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lampwright.look import tables
from lampwright.look.graph import Node, Rate
from lampwright.look.intervals import Intervals
from lampwright.look.noises import NOISES
from lampwright.look.problems import too_fine, too_wide
from lampwright.look.simplify import apart
from lampwright.look.steady import HELD, TURNING, Places, evaluate, turning_curve
from lampwright.look.tables import CURVE_PLACES, Table
from lampwright.look.whole import RangeError, Whole, Wholes
from lampwright.units.errors import MakerError

MOST_PLACES = 14
"""Binary places of a 16-bit value: leaves a bit above 1 and the sign."""

FEWEST_PLACES = 8
"""Below this a 16-bit value is too coarse for an 8-bit code, and 32 bits are taken."""

LOST = 1 / 64
"""A number that is smaller than this share of the last place is refused; larger ones may round to zero,
as dark colours do beside bright ones."""

FINE_RANGE = 1 << 11
"""A value that reaches so far is fine enough in itself, however few of its bits are places."""

BAND_PLACES = 15

NEAR_ENOUGH = 0.0025
"""Relative error at which a constant factor of a pixel's value may be cut to 8 bits: the chip
multiplies by a byte in half the time, and half a code in 200 is lost at most."""


@dataclass(frozen=True)
class Scaled:
    """A whole number and how many binary places it has."""

    whole: Whole
    places: int


@dataclass(frozen=True)
class _Linear:
    """A real value as time x speed + offset + the rest; speed and offset may differ per pixel."""

    speed: NDArray[np.float64]
    offset: NDArray[np.float64]
    rest: tuple[tuple[float, Node], ...] = ()


@dataclass
class Lowering:
    """Whole numbers for one look on one circuit, for cue times up to ``last_frame``."""

    places: Places
    frame_seconds: float
    last_frame: int
    names: dict[Node, str]
    whole_turns: frozenset[Node] = frozenset()
    """Values of which both the whole turns and the fraction are asked for: worked out once for both."""
    wholes: Wholes = field(default_factory=Wholes)
    named: dict[Whole, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.intervals = Intervals(self.places, self.last_frame * self.frame_seconds)
        self._values: dict[Node, Scaled] = {}
        self._truths: dict[Node, Whole] = {}

    # -- values -----------------------------------------------------------------------------

    def value(self, node: Node) -> Scaled:
        """Return the whole number for a value that changes with time."""
        if node not in self._values:
            try:
                scaled = self._value(node)
            except (RangeError, OverflowError):
                raise MakerError([too_wide(node, self.intervals.of(node))]) from None
            self._values[node] = scaled
            self._name(scaled.whole, node)
        return self._values[node]

    def _name(self, whole: Whole, node: Node) -> None:
        if node in self.names:
            self.named.setdefault(whole, self.names[node])

    def scales(self) -> list[tuple[str, Node, Scaled]]:
        """Return every value that its author named and that has a scale of its own, in the order of lowering.

        What is asked for only as turns has none: it is kept modulo its period.
        """
        return [(self.names[node], node, scaled) for node, scaled in self._values.items() if node in self.names]

    def _value(self, node: Node) -> Scaled:
        if Rate.FRAME not in node.rate:
            return self.steady(node, self._fitting_places(node))
        operation = node.operation
        if operation == "time":
            return self._time(node, 1.0)
        if operation == "multiply":
            return self._multiply(node)
        if operation in {"add", "least", "most", "choose"}:
            return self._aligned(node)
        if operation == "magnitude":
            inner = self.value(node.arguments[0])
            return Scaled(self.wholes.magnitude(inner.whole), inner.places)
        if operation == "divide":
            return self._divide(node)
        if operation == "floor":
            return self._floor(node)
        if operation == "fraction":
            return Scaled(self.turns(node.arguments[0], 16, 16), 16)
        if operation == "band":
            return self._band(node)
        return self._drawn(node)

    def _time(self, node: Node, speed: float) -> Scaled:
        """Return time x speed for a frame, as precise as 31 bits allow."""
        span = max(abs(speed) * self.intervals.seconds, 1.0)
        places = 16
        while span * 2**places >= 2**31 and places > 0:
            places -= 1
        if span * 2**places >= 2**31:
            raise RangeError(0, round(span))
        increment = _increment(abs(speed) * self.frame_seconds)
        if increment == 0 and speed != 0:
            raise MakerError([too_fine(node, speed)])
        whole = self.wholes.clock(increment, 32 - places, 32, self.last_frame)
        if speed < 0:
            whole = self.wholes.subtract(self.wholes.constant(0), whole)
        return Scaled(whole, places)

    def _multiply(self, node: Node) -> Scaled:
        left, right = node.arguments
        if left.operation == "constant":
            return self._multiple(node, float(left.detail[0]), right)
        both = node.rate == Rate.FRAME | Rate.PIXEL
        bits = 16 if both else 15
        a, b = self.narrow(self.value(left), bits), self.narrow(self.value(right), bits)
        return self._shortened(Scaled(self.wholes.multiply(a.whole, b.whole), a.places + b.places), node.rate)

    def _multiple(self, node: Node, factor: float, of: Node) -> Scaled:
        """Return a constant times a value: a change of scale for powers of two, else a product."""
        if of.operation == "time":
            return self._time(node, factor)
        scaled = self.value(of)
        power = np.log2(abs(factor))
        if factor > 0 and power == int(power) and 0 <= scaled.places - int(power) <= 24:
            return Scaled(scaled.whole, scaled.places - int(power))
        narrow = self.narrow(scaled, 16)
        number, places = _best_fraction(factor, 0.0 if node.rate == Rate.FRAME else NEAR_ENOUGH)
        if places + narrow.places < 0:
            raise RangeError(0, round(abs(factor)))
        product = self.wholes.multiply(narrow.whole, self.wholes.constant(number))
        return self._shortened(Scaled(product, places + narrow.places), node.rate)

    def _shortened(self, scaled: Scaled, rate: Rate) -> Scaled:
        """Return a product cut to fewer places: by whole bytes until 16 bits hold it."""
        if rate == Rate.FRAME:
            return Scaled(self.wholes.shift(scaled.whole, max(0, scaled.places - 16)), min(scaled.places, 16))
        for cut in (0, 8, 16):
            shorter = self.wholes.shift(scaled.whole, cut)
            is_fine = scaled.places - cut >= FEWEST_PLACES or max(-shorter.low, shorter.high) >= FINE_RANGE
            if _fits(shorter.low, shorter.high, 16) and is_fine:
                return Scaled(shorter, scaled.places - cut)
        cut = max(0, scaled.places - 12) // 8 * 8
        return Scaled(self.wholes.shift(scaled.whole, cut), scaled.places - cut)

    def _aligned(self, node: Node) -> Scaled:
        """Return a sum, extreme or choice, its parts brought to the same places first."""
        room = 1 if node.operation == "add" else 0
        a, b = self._same_places(node.arguments[-2], node.arguments[-1], node.rate, room)
        if node.operation == "add":
            whole = self.wholes.add(a.whole, b.whole)
        elif node.operation == "choose":
            whole = self.wholes.choose(self.truth(node.arguments[0]), a.whole, b.whole)
        else:
            whole = (self.wholes.least if node.operation == "least" else self.wholes.most)(a.whole, b.whole)
        return Scaled(whole, a.places)

    def _same_places(self, left: Node, right: Node, rate: Rate, room: int) -> tuple[Scaled, Scaled]:
        """Return two values with the same places, as many as fit with ``room`` bits above."""
        moving = [self.value(n).places for n in (left, right) if Rate.FRAME in n.rate]
        most = max([*moving, FEWEST_PLACES]) if moving else MOST_PLACES
        limits = (31,) if rate == Rate.FRAME else (16, 31)
        for bits in limits:
            for places in range(most, (FEWEST_PLACES if bits == 16 else 0) - 1, -1):
                a, b = (self._at(n, places) for n in (left, right))
                if a is None or b is None:
                    continue
                low, high = (a.low + b.low, a.high + b.high) if room else (min(a.low, b.low), max(a.high, b.high))
                if _fits(low, high, bits) and all(_fits(w.low, w.high, bits) for w in (a, b)):
                    return Scaled(a, places), Scaled(b, places)
        raise RangeError(0, 0)

    def _at(self, node: Node, places: int) -> Whole | None:
        """Return a value with ``places``, or ``None`` where 32 bits don't hold it."""
        try:
            if Rate.FRAME not in node.rate:
                return self.steady(node, places).whole
            multiple = self._multiple_at(node, places)
            if multiple is not None:
                return multiple
            scaled = self.value(node)
            return self.wholes.shift(scaled.whole, scaled.places - places)
        except RangeError:
            return None

    def _multiple_at(self, node: Node, places: int) -> Whole | None:
        """Return a constant times a value with just these places, so that no shift is left over."""
        constant, of = apart(node)
        if node.rate == Rate.FRAME or of is None or of is node:
            return None
        scaled = self.narrow(self.value(of), 16)
        number = round(constant * 2.0 ** (places + 8 - scaled.places))
        if 0 < number <= 255 and abs(number * 2.0 ** (scaled.places - places - 8) / constant - 1) <= NEAR_ENOUGH:
            return self.wholes.shift(self.wholes.multiply(scaled.whole, self.wholes.constant(number)), 8)
        return None

    def _divide(self, node: Node) -> Scaled:
        self.intervals.of(node)  # refuses a divisor that can be zero, where it was written
        above, below = node.arguments
        divisor = self.narrow(self.value(below), 15)
        dividend = self.narrow(self.value(above), 15)
        if divisor.whole.high < 0:
            zero = self.wholes.constant(0)
            divisor = Scaled(self.wholes.subtract(zero, divisor.whole), divisor.places)
            dividend = Scaled(self.wholes.subtract(zero, dividend.whole), dividend.places)
        if divisor.whole.low <= 0:
            raise MakerError([too_fine(node, self.intervals.of(below)[0])])
        raised = 0
        while raised < 24 and _fits(dividend.whole.low << raised + 1, dividend.whole.high << raised + 1, 31):
            raised += 1
        lifted = self.wholes.shift(dividend.whole, -raised)
        places = dividend.places + raised - divisor.places
        quotient = self.wholes.divide(lifted, divisor.whole)
        cut = max(0, places - 16)
        return self.narrow(
            Scaled(self.wholes.shift(quotient, cut), places - cut), 16 if node.rate != Rate.FRAME else 31
        )

    def _floor(self, node: Node) -> Scaled:
        low, high = self.intervals.of(node)
        if low >= 0 and high <= 65535:
            whole = self.wholes.shift(self.turns(node.arguments[0], 16, 32), 16)
            # rounding may carry a value just over a whole number, never further
            return Scaled(self.held(whole, max(0, int(low) - 1), min(65535, int(high) + 1)), 0)
        scaled = self.value(node.arguments[0])
        return Scaled(self.wholes.shift(scaled.whole, scaled.places), 0)

    def _band(self, node: Node) -> Scaled:
        stops = np.array([float(s) for s in node.detail])
        drawn = np.interp(np.arange(256) / 255 * (len(stops) - 1), np.arange(len(stops)), stops)
        table = Table("band", np.round(drawn * 2**BAND_PLACES).astype(np.int64), "one channel of a gradient")
        share = self.value(node.arguments[0])
        index = self.wholes.shift(share.whole, share.places - 8)
        index = self.held(index, 0, 255)
        return Scaled(self.wholes.look_up(table, index), BAND_PLACES)

    def held(self, whole: Whole, low: int, high: int) -> Whole:
        """Return a value, held from ``low`` to ``high``."""
        return self.wholes.least(self.wholes.most(whole, self.wholes.constant(low)), self.wholes.constant(high))

    def _drawn(self, node: Node) -> Scaled:
        """Return an operation that goes through fixed tables."""
        operation = node.operation
        if operation in TURNING:
            curve = turning_curve(node)
            return Scaled(self.wholes.curve(curve, self.turns(node.arguments[0], 16, 16)), CURVE_PLACES)
        if operation in HELD:
            return Scaled(self.wholes.curve(HELD[operation], self._share(self.value(node.arguments[0]))), CURVE_PLACES)
        if operation == "throw":
            salt = int(float(node.detail[0]))
            own = tables.dice(self.places.n_pixel, self.places.circuit, salt)
            moment_of = node.arguments[0]
            if moment_of.operation == "floor":
                moment_of = moment_of.arguments[0]
            moment = self.wholes.shift(self.turns(moment_of, 16, 32), 16)
            step = self.wholes.constant(tables.MOMENT_STEP)
            along = self.wholes.wrap("wrap multiply", moment, step, 16)
            return Scaled(self.wholes.scramble(self.wholes.wrap("wrap add", self.table("dice", own), along, 16)), 16)
        return Scaled(self._noise(node), 16)

    def _share(self, scaled: Scaled) -> Whole:
        """Return a value held from 0 to 1, with 16 places and 65535 for 1."""
        whole, places = scaled.whole, scaled.places
        if places > 16:
            whole, places = self.wholes.shift(whole, places - 16), 16
        if places < FEWEST_PLACES:
            # so coarse that 1 itself has to be reached: with no places left, 0 and 1 are all there is
            steps = max(0, places)
            held = self.held(whole, 0, 1 << steps)
            return self.wholes.multiply(held, self.wholes.constant(65535 >> steps))
        return self.wholes.shift(self.held(whole, 0, (1 << places) - 1), places - 16)

    def _noise(self, node: Node) -> Whole:
        """Return value noise of one, two or three places, 16 binary places."""
        return NOISES[node.operation](self.wholes, *(self.turns(a, 8, 16) for a in node.arguments))

    # -- steady values ----------------------------------------------------------------------

    def steady(self, node: Node, places: int) -> Scaled:
        """Return a value that doesn't change with time, rounded to ``places``."""
        real = evaluate(node, self.places)
        rounded = np.round(real * 2.0**places).astype(np.int64)
        largest = float(np.abs(real).max())
        if 0 < largest * 2.0**places < LOST:
            raise MakerError([too_fine(node, largest)])
        return Scaled(self.table(self.names.get(node, "steady"), rounded), places)

    def table(self, name: str, values: NDArray[np.int64]) -> Whole:
        """Return a table with one entry per pixel; a number where all are the same."""
        if values.min() == values.max():
            return self.wholes.constant(int(values.flat[0]))
        return self.wholes.pixel(Table(name, values, "one entry per pixel"))

    def _fitting_places(self, node: Node) -> int:
        low, high = self.intervals.of(node)
        places = MOST_PLACES
        while places > -16 and not _fits(round(low * 2.0**places), round(high * 2.0**places), 16):
            places -= 1
        return places

    def narrow(self, scaled: Scaled, bits: int) -> Scaled:
        """Return a value shifted right until ``bits`` hold it."""
        cut = 0
        while not _fits(scaled.whole.low >> cut, scaled.whole.high >> cut, bits):
            cut += 1
        return Scaled(self.wholes.shift(scaled.whole, cut), scaled.places - cut)

    def raised(self, scaled: Scaled, most_places: int) -> Scaled:
        """Return a value shifted left as far as 16 bits go, up to ``most_places``."""
        lift = 0
        while (
            _fits(scaled.whole.low << lift + 1, scaled.whole.high << lift + 1, 16)
            and scaled.places + lift < most_places
        ):
            lift += 1
        return Scaled(self.wholes.shift(scaled.whole, -lift), scaled.places + lift)

    # -- truths -----------------------------------------------------------------------------

    def truth(self, node: Node) -> Whole:
        """Return 1 or 0 for a comparison."""
        if node not in self._truths:
            self._truths[node] = self._truth(node)
            self._name(self._truths[node], node)
        return self._truths[node]

    def _truth(self, node: Node) -> Whole:
        if Rate.FRAME not in node.rate:
            return self.steady(node, 0).whole
        if node.operation in {"both", "either", "not"}:
            return self.wholes.truth(node.operation, *(self.truth(a) for a in node.arguments))
        try:
            left, right = self._same_places(node.arguments[0], node.arguments[1], node.rate, 0)
        except RangeError:
            raise MakerError([too_wide(node, self.intervals.of(node.arguments[0]))]) from None
        return self.wholes.truth(node.operation, left.whole, right.whole)

    # -- places that come around ------------------------------------------------------------

    def turns(self, node: Node, places: int, bits: int) -> Whole:
        """Return a value with ``places``, its lowest ``bits`` only.

        Time counts from the frame number with an increment of 2**-32 a frame, so hours lose
        nothing. Parts of different bits agree: the fraction (16 bits) and the whole turns
        (the upper half of 32 bits) of one value always fit together.
        """
        if (places, bits) == (16, 16) and node in self.whole_turns:
            return self.wholes.low_bits(self.turns(node, 16, 32), 16)
        linear = self._linear(node)
        total = self._turning(linear, places, bits)
        for factor, part in linear.rest:
            total = self._plus(total, self._wrapped_value(factor, part, places, bits), bits)
        if total is None:
            total = self.wholes.constant(0)
        return total

    def _turning(self, linear: _Linear, places: int, bits: int) -> Whole | None:
        """Return the part of a linear value that is time x speed + offset."""
        total: Whole | None = None
        offset = np.round(linear.offset * 2.0**places).astype(np.int64) & ((1 << bits) - 1)
        if offset.any():
            total = self.table("offset", offset)
        speed = linear.speed * self.frame_seconds
        if not speed.any():
            return total
        if speed.min() == speed.max():
            increment = _increment(float(speed.flat[0])) % (1 << 64)
            # Parts of equal shift agree in their common bits, whatever their width.
            return self._plus(self.wholes.clock(increment, 32 - places, bits, self.last_frame), total, bits)
        rates = np.round(speed * 2.0**16).astype(np.int64) & ((1 << 32) - 1)
        extra = 16 - places
        frame = self.wholes.clock(1, 0, bits + extra, self.last_frame)
        rate = self.table("speed", rates & ((1 << (bits + extra)) - 1))
        moving = self.wholes.wrap("wrap multiply", frame, rate, bits + extra)
        return self._plus(self.wholes.low_bits(self.wholes.shift(moving, extra), bits), total, bits)

    def _plus(self, left: Whole | None, right: Whole | None, bits: int) -> Whole | None:
        if left is None or right is None:
            return left if right is None else right
        return self.wholes.wrap("wrap add", left, right, bits)

    def _wrapped_value(self, factor: float, node: Node, places: int, bits: int) -> Whole:
        scaled = self.value(node) if factor == 1.0 else self._multiple(node, factor, node)
        whole = scaled.whole
        if scaled.places >= places:
            return self.wholes.low_bits(self.wholes.shift(whole, scaled.places - places), bits)
        lacking = places - scaled.places
        return self.wholes.low_bits(
            self.wholes.shift(self.wholes.low_bits(whole, max(1, bits - lacking)), -lacking), bits
        )

    def _linear(self, node: Node) -> _Linear:
        """Return a value as time x speed + offset + rest."""
        zero = np.zeros(1)
        if Rate.FRAME not in node.rate:
            return _Linear(zero, evaluate(node, self.places))
        if node.operation == "time":
            return _Linear(np.ones(1), zero)
        if node.operation == "add":
            a, b = (self._linear(n) for n in node.arguments)
            return _Linear(a.speed + b.speed, a.offset + b.offset, a.rest + b.rest)
        if node.operation == "multiply":
            steady = [n for n in node.arguments if Rate.FRAME not in n.rate]
            moving = [n for n in node.arguments if Rate.FRAME in n.rate]
            if len(moving) == 1:
                factor, inner = evaluate(steady[0], self.places), self._linear(moving[0])
                if not inner.rest:
                    return _Linear(factor * inner.speed, factor * inner.offset)
                if factor.size == 1:
                    rest = tuple((f * float(factor[0]), n) for f, n in inner.rest if factor[0] != 0)
                    return _Linear(factor * inner.speed, factor * inner.offset, rest)
        return _Linear(zero, zero, ((1.0, node),))


def whole_turns(roots: Iterable[Node]) -> frozenset[Node]:
    """Return every value below ``roots`` whose whole turns are asked for."""
    found, seen, waiting = set(), set(), list(roots)
    while waiting:
        node = waiting.pop()
        if node in seen:
            continue
        seen.add(node)
        waiting.extend(node.arguments)
        if node.operation in {"floor", "throw"}:
            found.add(node.arguments[0])
    return frozenset(found)


def _fits(low: int, high: int, bits: int) -> bool:
    """Return whether a signed or an unsigned type of ``bits`` holds the range (31: a signed 32-bit one)."""
    if bits in {15, 31}:
        return -(1 << bits) <= low and high < 1 << bits
    return (low >= 0 and high < 1 << bits) or (-(1 << (bits - 1)) <= low and high < 1 << (bits - 1))


def _increment(per_frame: float) -> int:
    """Return what a frame adds, in units of 2**-32: rounded up, so that a whole turn that falls
    on a frame is there in that frame and not in the next one."""
    return math.ceil(per_frame * 2**32 - 1e-6)


def _best_fraction(factor: float, error: float) -> tuple[int, int]:
    """Return ``factor`` as number / 2**places: 8 bits where they come within ``error``, else 15."""
    for bits in (8, 15):
        places = bits - 1 - int(np.floor(np.log2(abs(factor))))
        number = round(factor * 2.0**places)
        if abs(number) >= 1 << bits:
            places -= 1
            number = round(factor * 2.0**places)
        if abs(number / 2.0**places / factor - 1) <= error:
            break
    while number % 2 == 0 and number != 0 and places > 0:
        number, places = number // 2, places - 1
    return number, places
