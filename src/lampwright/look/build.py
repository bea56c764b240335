"""Turns the statements of a look into its graph, checking every name, call and kind of value."""

from __future__ import annotations

import ast
import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from lampwright.look.colour import COLDEST_KELVIN, HOTTEST_KELVIN, hex_to_linear, kelvin_to_linear
from lampwright.look.graph import CIRCUIT_INPUTS, PIXEL_INPUTS, TRUTHS, Graph, Node
from lampwright.look.source import Change, Look
from lampwright.look.source import Value as SettingValue
from lampwright.units.errors import MakerError, Place, Problem

INPUTS = ("time", *PIXEL_INPUTS, *CIRCUIT_INPUTS)
"""What a look is given: the cue's time [s], and the pixel's and circuit's places and numbers."""


@dataclass(frozen=True)
class Colour:
    """Three numbers: linear red, green and blue, 1 being full drive."""

    red: Node
    green: Node
    blue: Node

    @property
    def channels(self) -> tuple[Node, Node, Node]:
        """Red, green, blue."""
        return self.red, self.green, self.blue


Value = Node | Colour


@dataclass(frozen=True)
class CueTime:
    """A cue's length, and how far behind its time this circuit is. [s]"""

    seconds: float
    behind: float = 0.0


@dataclass(frozen=True)
class Drawing:
    """The graph of a look: its colour, and the names that its author gave to values."""

    colour: Colour
    names: Mapping[Node, str]


def build(look: Look, settings: Mapping[str, SettingValue], cue: CueTime) -> Drawing:
    """Return the graph of ``look`` with its settings at these values.

    Raises
    ------
    MakerError
        LOOK-002 unknown name, LOOK-003 wrong call, LOOK-004 wrong kind of value.
    """
    builder = _Builder(look, settings, cue)
    problems = [_taken(name, look.declared[name]) for name in look.declared if name in TAKEN]
    for statement in look.statements:
        try:
            builder.assign(statement)
        except MakerError as error:
            problems.extend(error.problems)
            builder.forget(statement)
    if problems:
        raise MakerError(problems)
    colour = builder.values["colour"]
    assert isinstance(colour, Colour)
    return Drawing(colour, builder.names)


class _Builder:
    def __init__(self, look: Look, settings: Mapping[str, SettingValue], cue: CueTime) -> None:
        self.look = look
        self.graph = Graph()
        self.cue = cue
        time = self.graph.node("time")
        shifted = self.graph.node("add", time, self.graph.constant(-cue.behind))
        self.values: dict[str, Value] = {"time": shifted if cue.behind else time}
        for name in CIRCUIT_INPUTS:
            self.values[name] = self.graph.node(name)
        for name in PIXEL_INPUTS:
            self.values[name] = self.graph.node("place", detail=(name,))
        for name, setting in settings.items():
            self.values[name] = self._setting(setting)
        self.names: dict[Node, str] = {}
        self._unusable: set[str] = set()

    def _setting(self, value: SettingValue) -> Value:
        if isinstance(value, Change):
            start, end = self._setting(value.start), self._setting(value.end)
            passed = self.graph.node("multiply", self.graph.node("time"), self.graph.constant(1 / self.cue.seconds))
            share = self.graph.node("least", passed, self.graph.constant(1))
            if isinstance(start, Node) and isinstance(end, Node):
                return self._between(start, end, share)
            assert isinstance(start, Colour)
            assert isinstance(end, Colour)
            ends = zip(start.channels, end.channels, strict=True)
            return Colour(*(self._between(a, b, share) for a, b in ends))
        return self._hex(value) if isinstance(value, str) else self.graph.constant(value)

    def _between(self, start: Node, end: Node, share: Node) -> Node:
        step = self.graph.node("subtract", end, start)
        return self.graph.node("add", start, self.graph.node("multiply", step, share))

    def assign(self, statement: ast.Assign) -> None:
        target = statement.targets[0]
        assert isinstance(target, ast.Name)
        if target.id in TAKEN:
            raise MakerError([_taken(target.id, self.look.place(target))])
        value = self.value(statement.value)
        if target.id == "colour" and isinstance(value, Node):
            raise self._error("LOOK-004", '"colour" has to be a colour', statement.value, _say(value),
                              'a colour, such as "#bfe3ff" * level', "multiply a colour by this number")  # fmt: skip
        self.values[target.id] = value
        self._remember(target.id, value)

    def forget(self, statement: ast.Assign) -> None:
        """Let a name whose value is wrong stand without a second complaint about its use."""
        target = statement.targets[0]
        assert isinstance(target, ast.Name)
        self._unusable.add(target.id)

    def _remember(self, name: str, value: Value) -> None:
        if isinstance(value, Node):
            self.names.setdefault(value, name)
        elif name != "colour":
            for node, channel in zip(value.channels, ("red", "green", "blue"), strict=True):
                self.names.setdefault(node, f"{name}_{channel}")

    def value(self, node: ast.expr) -> Value:
        """Return the value of an expression."""
        handler: Callable[[ast.expr], Value] = _HANDLERS[type(node)].__get__(self)
        return handler(node)

    def _name(self, node: ast.Name) -> Value:
        if node.id in self.values:
            return self.values[node.id]
        if node.id in self._unusable:
            raise MakerError([])
        known = [*self.values, *FUNCTIONS]
        near = difflib.get_close_matches(node.id, known, 1)
        do = f'did you mean "{near[0]}"?' if near else "give it a value above this line, or correct it"
        raise self._error("LOOK-002", f'unknown name "{node.id}"', node, f'"{node.id}"',
                          f"inputs: {', '.join(INPUTS)}; this look's settings; names given above",
                          do)  # fmt: skip

    def _constant(self, node: ast.Constant) -> Value:
        if isinstance(node.value, str):
            if hex_to_linear(node.value) is None:
                raise self._error("LOOK-004", "this text is not a colour", node, f'"{node.value}"',
                                  'a hex colour, such as "#bfe3ff"', "write it as # and six digits")  # fmt: skip
            return self._hex(node.value)
        assert isinstance(node.value, (int, float))
        return self.graph.constant(node.value)

    def _hex(self, text: str) -> Colour:
        linear = hex_to_linear(text)
        assert linear is not None
        return Colour(*(self.graph.constant(share) for share in linear))

    def _sum(self, node: ast.BinOp) -> Value:
        left, right = self.value(node.left), self.value(node.right)
        operation = {ast.Add: "add", ast.Sub: "subtract", ast.Mult: "multiply", ast.Div: "divide"}[type(node.op)]
        if isinstance(left, Node) and isinstance(right, Colour) and operation in {"subtract", "divide"}:
            raise self._kind(node, "a number can't be reduced or divided by a colour", left)
        return self._each(node, left, right, lambda a, b: self.node(operation, a, b, at=node))

    def _each(self, at: ast.expr, left: Value, right: Value, make: Callable[[Node, Node], Node]) -> Value:
        """Apply to numbers, or channel by channel where either is a colour."""
        for value in (left, right):
            if isinstance(value, Node):
                self._number(at, value)
        if isinstance(left, Node) and isinstance(right, Node):
            return make(left, right)
        lefts = left.channels if isinstance(left, Colour) else (left,) * 3
        rights = right.channels if isinstance(right, Colour) else (right,) * 3
        return Colour(*(make(a, b) for a, b in zip(lefts, rights, strict=True)))

    def _sign(self, node: ast.UnaryOp) -> Value:
        if isinstance(node.op, ast.Not):
            return self.node("not", self._truth(node.operand), at=node)
        value = self.value(node.operand)
        if isinstance(node.op, ast.UAdd):
            return value
        zero = self.graph.constant(0)
        return self._each(node, zero, value, lambda a, b: self.node("subtract", a, b, at=node))

    def _compare(self, node: ast.Compare) -> Value:
        sides = [self.number(side) for side in (node.left, *node.comparators)]
        result: Node | None = None
        for operator, left, right in zip(node.ops, sides, sides[1:], strict=False):
            one = self._one_comparison(operator, left, right, node)
            result = one if result is None else self.node("both", result, one, at=node)
        assert result is not None
        return result

    def _one_comparison(self, operator: ast.cmpop, left: Node, right: Node, at: ast.expr) -> Node:
        if isinstance(operator, ast.Lt):
            return self.node("below", left, right, at=at)
        if isinstance(operator, ast.Gt):
            return self.node("below", right, left, at=at)
        if isinstance(operator, ast.LtE):
            return self.node("at most", left, right, at=at)
        if isinstance(operator, ast.GtE):
            return self.node("at most", right, left, at=at)
        equal = self.node("equal", left, right, at=at)
        return equal if isinstance(operator, ast.Eq) else self.node("not", equal, at=at)

    def _logic(self, node: ast.BoolOp) -> Value:
        operation = "both" if isinstance(node.op, ast.And) else "either"
        result = self._truth(node.values[0])
        for other in node.values[1:]:
            result = self.node(operation, result, self._truth(other), at=node)
        return result

    def _call(self, node: ast.Call) -> Value:
        assert isinstance(node.func, ast.Name)
        function = FUNCTIONS.get(node.func.id)
        if function is None:
            near = difflib.get_close_matches(node.func.id, list(FUNCTIONS), 1)
            do = f'did you mean "{near[0]}"?' if near else "use one of these"
            raise self._error("LOOK-002", f'unknown function "{node.func.id}"', node.func, f'"{node.func.id}"',
                              ", ".join(FUNCTIONS), do)  # fmt: skip
        count = len(node.args)
        if node.keywords or not function.fewest <= count <= function.most:
            raise self._error("LOOK-003", f'"{node.func.id}" is called wrongly', node,
                              f"{count} values" + (" and named ones" if node.keywords else ""),
                              function.usage, "give just these, in this order")  # fmt: skip
        return function.make(self, node)

    def node(self, operation: str, *arguments: Node, detail: tuple[float | str, ...] = (), at: ast.AST) -> Node:
        """Return a node that remembers where it was written."""
        return self.graph.node(operation, *arguments, detail=detail, place=self.look.place(at))

    def number(self, node: ast.expr) -> Node:
        """Return an expression's value, which has to be a number."""
        return self._number(node, self.value(node))

    def _number(self, at: ast.expr, value: Value) -> Node:
        if isinstance(value, Colour) or value.operation in TRUTHS:
            raise self._kind(at, "a number is needed here", value)
        return value

    def _truth(self, node: ast.expr) -> Node:
        value = self.value(node)
        if isinstance(value, Colour) or value.operation not in TRUTHS:
            raise self._kind(node, "a comparison is needed here", value)
        return value

    def colour(self, node: ast.expr) -> Colour:
        """Return an expression's value, which has to be a colour."""
        value = self.value(node)
        if isinstance(value, Node):
            raise self._kind(node, "a colour is needed here", value)
        return value

    def plain(self, node: ast.expr, low: float, high: float) -> float:
        """Return an expression's value, which has to be a plain number in a range."""
        value = self.value(node)
        if isinstance(value, Node) and value.operation == "constant":
            number = value.detail[0]
            assert isinstance(number, float)
            if low <= number <= high:
                return number
        raise self._error("LOOK-003", "a plain number is needed here", node, self.look.place(node).text.strip(),
                          f"a number or setting from {low:g} to {high:g}", "write the number itself")  # fmt: skip

    def _kind(self, at: ast.expr, summary: str, found: Value) -> MakerError:
        allowed = {
            "a number": "a number",
            "a colour": "a colour",
            "a comparison": "a comparison, such as x < 0.5",
        }
        key = next((k for k in allowed if summary.startswith(k)), "a number")
        return self._error("LOOK-004", summary, at, _say(found), allowed[key], "see docs/looks.md for what goes where")

    def _error(self, code: str, summary: str, at: ast.AST, found: str, allowed: str, do: str) -> MakerError:
        return MakerError([Problem(code, summary, found, allowed, do, self.look.place(at))])


def _taken(name: str, place: Place) -> Problem:
    summary = f'"{name}" has a meaning already'
    return Problem("LOOK-003", summary, f'"{name}"', "a name of your own", "choose another name", place)


def _say(value: Value) -> str:
    if isinstance(value, Colour):
        return "a colour"
    return "a comparison" if value.operation in TRUTHS else "a number"


_HANDLERS: dict[type[ast.expr], Callable[..., Value]] = {
    ast.Name: _Builder._name,
    ast.Constant: _Builder._constant,
    ast.BinOp: _Builder._sum,
    ast.UnaryOp: _Builder._sign,
    ast.Compare: _Builder._compare,
    ast.BoolOp: _Builder._logic,
    ast.Call: _Builder._call,
}


@dataclass(frozen=True)
class Function:
    """A function of the look language: how it is called and what it makes."""

    usage: str
    fewest: int
    most: int
    make: Callable[[_Builder, ast.Call], Value]


def _simple(operation: str) -> Callable[[_Builder, ast.Call], Value]:
    def make(builder: _Builder, call: ast.Call) -> Value:
        return builder.node(operation, *(builder.number(a) for a in call.args), at=call)

    return make


def _extreme(operation: str) -> Callable[[_Builder, ast.Call], Value]:
    def make(builder: _Builder, call: ast.Call) -> Value:
        result = builder.number(call.args[0])
        for argument in call.args[1:]:
            result = builder.node(operation, result, builder.number(argument), at=call)
        return result

    return make


def _noise(builder: _Builder, call: ast.Call) -> Value:
    operation = ("noise", "noise2", "noise3")[len(call.args) - 1]
    return builder.node(operation, *(builder.number(a) for a in call.args), at=call)


def _dice(builder: _Builder, call: ast.Call) -> Value:
    salt = builder.plain(call.args[0], 0, 1000)
    if len(call.args) == 1:
        return builder.node("dice", detail=(salt,), at=call)
    return builder.node("throw", builder.number(call.args[1]), detail=(salt,), at=call)


def _clamp(builder: _Builder, call: ast.Call) -> Value:
    value, low, high = (builder.number(a) for a in call.args)
    return builder.node("least", builder.node("most", value, low, at=call), high, at=call)


def _mix(builder: _Builder, call: ast.Call) -> Value:
    start, end = builder.value(call.args[0]), builder.value(call.args[1])
    share = builder.number(call.args[2])

    def blend(a: Node, b: Node) -> Node:
        step = builder.node("subtract", b, a, at=call)
        return builder.node("add", a, builder.node("multiply", step, share, at=call), at=call)

    return builder._each(call, start, end, blend)


def _choose(builder: _Builder, call: ast.Call) -> Value:
    test = builder._truth(call.args[0])
    yes, no = builder.value(call.args[1]), builder.value(call.args[2])
    return builder._each(call, yes, no, lambda a, b: builder.node("choose", test, a, b, at=call))


def _pulse(builder: _Builder, call: ast.Call) -> Value:
    turn = builder.number(call.args[0])
    attack = builder.plain(call.args[1], 0.01, 0.9)
    decay = builder.plain(call.args[2], 0.01, 1.0 - attack)
    return builder.node("pulse", turn, detail=(attack, decay), at=call)


def _ease(builder: _Builder, call: ast.Call) -> Value:
    value, start, end = (builder.number(a) for a in call.args)
    length = builder.node("subtract", end, start, at=call)
    share = builder.node("divide", builder.node("subtract", value, start, at=call), length, at=call)
    return builder.node("ease", share, at=call)


def _light(builder: _Builder, call: ast.Call) -> Value:
    return Colour(*(builder.number(a) for a in call.args))


def _hue(builder: _Builder, call: ast.Call) -> Value:
    turns = builder.number(call.args[0])
    return Colour(*(builder.node("wheel", turns, detail=(float(channel),), at=call) for channel in range(3)))


def _kelvin(builder: _Builder, call: ast.Call) -> Value:
    temperature = builder.plain(call.args[0], COLDEST_KELVIN, HOTTEST_KELVIN)
    return Colour(*(builder.graph.constant(share) for share in kelvin_to_linear(temperature)))


def _gradient(builder: _Builder, call: ast.Call) -> Value:
    share = builder.number(call.args[0])
    stops = [builder.colour(a) for a in call.args[1:]]
    channels = zip(*(stop.channels for stop in stops), strict=True)
    return Colour(*(_along(builder, share, channel, call) for channel in channels))


def _along(builder: _Builder, share: Node, stops: tuple[Node, ...], call: ast.Call) -> Node:
    """Return one channel along its stops: from a table where they are fixed, else step by step."""
    if all(node.operation == "constant" for node in stops):
        return builder.node("band", share, detail=tuple(n.detail[0] for n in stops), at=call)
    zero, one, parts = builder.graph.constant(0), builder.graph.constant(1), len(stops) - 1
    result = stops[0]
    for number, (start, end) in enumerate(pairwise(stops)):
        place = builder.node("multiply", share, builder.graph.constant(parts), at=call)
        within = builder.node("subtract", place, builder.graph.constant(number), at=call)
        held = builder.node("least", builder.node("most", within, zero, at=call), one, at=call)
        step = builder.node("multiply", builder.node("subtract", end, start, at=call), held, at=call)
        result = builder.node("add", result, step, at=call)
    return result


FUNCTIONS: dict[str, Function] = {
    "sine": Function("sine(turns): -1 to 1", 1, 1, _simple("sine")),
    "swell": Function("swell(turns): from 0 to 1 and back in each turn", 1, 1, _simple("swell")),
    "fraction": Function("fraction(x): what is left of x above the whole number below", 1, 1, _simple("fraction")),
    "floor": Function("floor(x): the whole number at or below x", 1, 1, _simple("floor")),
    "pulse": Function("pulse(turns, attack, decay): a rise and a fall in each turn, as shares of it", 3, 3, _pulse),
    "ease": Function("ease(x, start, end): 0 below start, 1 above end, smooth between", 3, 3, _ease),
    "noise": Function(
        "noise(u), noise(u, v) or noise(u, v, w): smooth random, 0 to 1, a bump or dip per unit", 1, 3, _noise
    ),
    "seen": Function("seen(x): the light that an eye judges to be x, 0 to 1", 1, 1, _simple("seen")),
    "hue": Function(
        "hue(turns): red at 0, green at a third, blue at two thirds, the same current all around", 1, 1, _hue
    ),
    "kelvin": Function("kelvin(temperature): white light of a colour temperature, 1700 to 20000", 1, 1, _kelvin),
    "dice": Function("dice(number) per pixel, or dice(number, moment) per pixel and moment: 0 to 1", 1, 2, _dice),
    "gradient": Function("gradient(share, colour, colour, ...): along evenly spaced colours", 3, 9, _gradient),
    "mix": Function("mix(a, b, share): a at 0, b at 1; numbers or colours", 3, 3, _mix),
    "choose": Function("choose(test, a, b): a where the test holds, else b", 3, 3, _choose),
    "clamp": Function("clamp(x, low, high): x, held from low to high", 3, 3, _clamp),
    "min": Function("min(a, b, ...): the smallest", 2, 8, _extreme("least")),
    "max": Function("max(a, b, ...): the largest", 2, 8, _extreme("most")),
    "abs": Function("abs(x): x without its sign", 1, 1, _simple("magnitude")),
    "light": Function("light(red, green, blue): a colour from linear shares, 0 to 1", 3, 3, _light),
}
"""What a look can call."""

TAKEN = frozenset((*INPUTS, *FUNCTIONS))
"""Names that a look may not give to anything of its own."""
