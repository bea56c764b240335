"""Rewrites a look's graph so that as little as possible is left to do per pixel and frame.

Sums and products are flattened and grouped by rate: what is constant folds away, what
changes only from pixel to pixel becomes one term (later one table in flash), what
changes only from frame to frame is worked out once per frame.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from lampwright.look.graph import Graph, Node, Rate
from lampwright.look.steady import constant_value

_BY_RATE = (Rate.PIXEL, Rate.FRAME, Rate.FRAME | Rate.PIXEL)


class Simplifier:
    """Rewrites nodes of one look; the new nodes live in ``graph``, each once."""

    def __init__(self, roots: Iterable[Node], names: dict[Node, str]) -> None:
        self.graph = Graph()
        self.names: dict[Node, str] = {}
        self._old_names = names
        self._done: dict[Node, Node] = {}
        self._uses = _count_uses(roots)

    def rewrite(self, node: Node) -> Node:
        """Return the simplified equal of ``node``."""
        if node not in self._done:
            new = self._rewrite(node)
            if node in self._old_names and new.operation != "constant":
                self.names.setdefault(new, self._old_names[node])
            self._done[node] = new
        return self._done[node]

    def scaled(self, node: Node, factor: float) -> Node:
        """Return ``factor`` times an already simplified node, with constants drawn together."""
        return self._product([self.graph.constant(factor), node], node)

    def _rewrite(self, node: Node) -> Node:
        if node.operation == "constant":
            return self.graph.constant(_number(node))
        if node.operation == "subtract" and Rate.FRAME in node.rate:
            difference = self._sum(self._looked_through(node), node)
            if Rate.FRAME not in difference.rate:
                return difference
        if node.operation in {"add", "subtract"}:
            return self._sum(self._terms(node, 1.0), node)
        if node.operation == "multiply":
            return self._product([self.rewrite(f) for f in self._factors(node)], node)
        arguments = tuple(self.rewrite(a) for a in node.arguments)
        if node.operation == "divide":
            return self._quotient(arguments[0], arguments[1], node)
        return self._fold(self.graph.node(node.operation, *arguments, detail=node.detail, place=node.place))

    def _fold(self, node: Node) -> Node:
        if node.rate == Rate.CONSTANT and node.operation not in {"constant", "circuit"}:
            value = constant_value(node)
            if value is not None:
                return self.graph.constant(value)
        return node

    def _terms(self, node: Node, sign: float) -> list[tuple[float, Node]]:
        """Return ``node`` as a sum of multiples, looking through sums that nothing else uses."""
        left, right = node.arguments
        terms: list[tuple[float, Node]] = []
        for argument, own in ((left, sign), (right, -sign if node.operation == "subtract" else sign)):
            if argument.operation in {"add", "subtract"} and self._uses[argument] == 1:
                terms.extend(self._terms(argument, own))
            else:
                terms.append((own, self.rewrite(argument)))
        return terms

    def _looked_through(self, node: Node) -> list[tuple[float, Node]]:
        """Return a difference as a sum of multiples, looking into both sides whoever else uses them.

        A part that both sides share goes: the length from one moving place to another that moves alike
        is fixed. One level only: a chain of sums of itself would double with every level.
        """
        terms: list[tuple[float, Node]] = []
        for argument, sign in zip(node.arguments, (1.0, -1.0), strict=True):
            if argument.operation in {"add", "subtract"}:
                second = -sign if argument.operation == "subtract" else sign
                left, right = (self.rewrite(a) for a in argument.arguments)
                terms += [(sign, left), (second, right)]
            else:
                terms.append((sign, self.rewrite(argument)))
        return terms

    def _factors(self, node: Node) -> list[Node]:
        factors: list[Node] = []
        for argument in node.arguments:
            if argument.operation == "multiply" and self._uses[argument] == 1:
                factors.extend(self._factors(argument))
            else:
                factors.append(argument)
        return factors

    def _sum(self, terms: list[tuple[float, Node]], at: Node) -> Node:
        constant = 0.0
        multiples: dict[Node, float] = {}
        for sign, node in terms:
            factor, rest = apart(node)
            if rest is None:
                constant += sign * factor
            else:
                multiples[rest] = multiples.get(rest, 0.0) + sign * factor
        groups: dict[Rate, Node] = {}
        for rest, factor in multiples.items():
            if factor == 0.0:
                continue
            term = self._product([self.graph.constant(factor), rest], at)
            groups[rest.rate] = self._add(groups[rest.rate], term, at) if rest.rate in groups else term
        parts = [groups[rate] for rate in _BY_RATE if rate in groups]
        parts += [part for rate, part in groups.items() if rate == Rate.CONSTANT]
        if not parts:
            return self.graph.constant(constant)
        if constant != 0.0:
            parts[0] = self._add(parts[0], self.graph.constant(constant), at)
        result = parts[0]
        for part in parts[1:]:
            result = self._add(result, part, at)
        return result

    def _add(self, left: Node, right: Node, at: Node) -> Node:
        return self.graph.node("add", left, right, place=at.place)

    def _product(self, factors: list[Node], at: Node) -> Node:
        constant = 1.0
        groups: dict[Rate, Node] = {}
        for factor in factors:
            own, rest = apart(factor)
            constant *= own
            if rest is not None:
                present = groups.get(rest.rate)
                groups[rest.rate] = rest if present is None else self._times(present, rest, at)
        if constant == 0.0 or not groups:
            return self.graph.constant(constant)
        result: Node | None = None
        for rate in (Rate.CONSTANT, *_BY_RATE):
            if rate in groups:
                result = groups[rate] if result is None else self._times(result, groups[rate], at)
        assert result is not None
        return result if constant == 1.0 else self._times(self.graph.constant(constant), result, at)

    def _times(self, left: Node, right: Node, at: Node) -> Node:
        return self.graph.node("multiply", left, right, place=at.place)

    def _quotient(self, above: Node, below: Node, at: Node) -> Node:
        if below.operation == "constant" and _number(below) != 0.0:
            return self._product([above, self.graph.constant(1 / _number(below))], at)
        one = self.graph.constant(1.0)
        if below.rate != Rate.FRAME | Rate.PIXEL and above is not one:
            return self._product([above, self.graph.node("divide", one, below, place=at.place)], at)
        return self.graph.node("divide", above, below, place=at.place)


def apart(node: Node) -> tuple[float, Node | None]:
    """Return a node as a constant factor and the rest (``None`` for 1)."""
    if node.operation == "constant":
        return _number(node), None
    if node.operation == "multiply" and node.arguments[0].operation == "constant":
        return _number(node.arguments[0]), node.arguments[1]
    return 1.0, node


def _number(node: Node) -> float:
    number = node.detail[0]
    assert isinstance(number, float)
    return number


def _count_uses(roots: Iterable[Node]) -> Counter[Node]:
    uses: Counter[Node] = Counter()
    waiting = list(roots)
    seen: set[Node] = set()
    uses.update(waiting)
    while waiting:
        node = waiting.pop()
        if node in seen:
            continue
        seen.add(node)
        uses.update(node.arguments)
        waiting.extend(node.arguments)
    return uses
