"""The range of every real value of a look, proven by interval arithmetic before scales are chosen."""

from __future__ import annotations

from dataclasses import dataclass, field

from lampwright.look.graph import TRUTHS, Node, Rate
from lampwright.look.steady import Places, evaluate
from lampwright.units.errors import MakerError, Problem

Interval = tuple[float, float]

_SHARES = frozenset({"swell", "pulse", "ease", "seen", "wheel", "noise", "noise2", "noise3", "throw", "fraction"})
"""Operations that give 0 to 1, whatever goes in."""

_UNIT: Interval = (0.0, 1.0)


@dataclass
class Intervals:
    """Intervals of nodes for one circuit and a cue of ``seconds``."""

    places: Places
    seconds: float
    _done: dict[Node, Interval] = field(default_factory=dict)

    def of(self, node: Node) -> Interval:
        """Return the lowest and highest value ``node`` can take.

        Raises
        ------
        MakerError
            LOOK-005 where a divisor can be zero.
        """
        if node not in self._done:
            self._done[node] = self._find(node)
        return self._done[node]

    def _find(self, node: Node) -> Interval:
        arguments = [self.of(a) for a in node.arguments]
        if node.operation == "divide":
            self._refuse_zero(node, arguments[1])
        if Rate.FRAME not in node.rate:
            values = evaluate(node, self.places)
            return float(values.min()), float(values.max())
        if node.operation == "time":
            return 0.0, self.seconds
        if node.operation in TRUTHS or node.operation in _SHARES:
            return _UNIT
        if node.operation == "sine":
            return -1.0, 1.0
        if node.operation == "band":
            stops = [float(stop) for stop in node.detail]
            return min(stops), max(stops)
        return _arithmetic(node, arguments)

    def _refuse_zero(self, node: Node, divisor: Interval) -> None:
        if divisor[0] <= 0.0 <= divisor[1]:
            raise MakerError(
                [
                    Problem(
                        "LOOK-005",
                        "this divides by something that can be zero",
                        f"a divisor from {divisor[0]:.4g} to {divisor[1]:.4g}",
                        "a divisor that stays on one side of zero",
                        "hold it away from zero, such as max(x, 0.01)",
                        node.place,
                    )
                ]
            )


def _arithmetic(node: Node, arguments: list[Interval]) -> Interval:
    operation = node.operation
    if operation == "choose":
        return min(arguments[1][0], arguments[2][0]), max(arguments[1][1], arguments[2][1])
    (a, b) = arguments[0]
    if operation == "floor":
        return float(a // 1), float(b // 1)
    if operation == "magnitude":
        return (0.0 if a <= 0 <= b else min(abs(a), abs(b))), max(abs(a), abs(b))
    c, d = arguments[1]
    if operation == "add":
        return a + c, b + d
    if operation == "least":
        return min(a, c), min(b, d)
    if operation == "most":
        return max(a, c), max(b, d)
    if operation == "divide":
        c, d = 1 / d, 1 / c
    corners = [a * c, a * d, b * c, b * d]
    if node.arguments[0] is node.arguments[1] and operation == "multiply":
        return (0.0 if a <= 0 <= b else min(a * a, b * b)), max(corners)
    return min(corners), max(corners)
