"""The graph of a look as its author wrote it: real numbers, in SI units, not yet whole numbers.

One node type, a closed set of operations, each node kept once (shared subexpressions
are the same object). Every node knows its rate: whether it changes from frame to frame,
from pixel to pixel, both or neither.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Flag

from lampwright.units.errors import Place


class Rate(Flag):
    """What a value changes with."""

    CONSTANT = 0
    FRAME = 1
    PIXEL = 2


PIXEL_INPUTS = ("along", "height", "x", "y", "z", "pixel", "section", "member")
"""Places of a pixel: along its run, above the ground, in the piece's axes [m]; its number in the
circuit, its section's number there, and the number of the nearest member in the piece, from 0."""

CIRCUIT_INPUTS = ("circuit", "pixels")
"""The circuit's number, from 0, and how many pixels it has."""

OPERATIONS: dict[str, int] = {
    "constant": 0,
    "time": 0,
    "place": 0,
    "circuit": 0,
    "pixels": 0,
    "dice": 0,
    "throw": 1,
    "add": 2,
    "subtract": 2,
    "multiply": 2,
    "divide": 2,
    "least": 2,
    "most": 2,
    "magnitude": 1,
    "floor": 1,
    "fraction": 1,
    "below": 2,
    "at most": 2,
    "equal": 2,
    "both": 2,
    "either": 2,
    "not": 1,
    "choose": 3,
    "sine": 1,
    "swell": 1,
    "pulse": 1,
    "ease": 1,
    "seen": 1,
    "wheel": 1,
    "noise": 1,
    "noise2": 2,
    "noise3": 3,
    "band": 1,
}
"""Each operation and how many arguments it takes."""

TRUTHS = frozenset({"below", "at most", "equal", "both", "either", "not"})
"""Operations whose result is a yes or no."""


@dataclass(frozen=True, eq=False)
class Node:
    """One value of a look.

    ``detail`` holds what is not a node: the number of a ``constant``, the name of a
    ``place``, the channel of a ``wheel``, the salt of a ``dice`` or ``throw``, attack and decay of a ``pulse``,
    the stops of a ``band``.
    """

    operation: str
    arguments: tuple[Node, ...]
    detail: tuple[float | str, ...]
    rate: Rate
    place: Place | None = None

    @property
    def is_truth(self) -> bool:
        """Whether the value is a yes or no."""
        return self.operation in TRUTHS


@dataclass
class Graph:
    """Makes nodes, each once."""

    _nodes: dict[tuple[object, ...], Node] = field(default_factory=dict)

    def node(
        self,
        operation: str,
        *arguments: Node,
        detail: tuple[float | str, ...] = (),
        place: Place | None = None,
    ) -> Node:
        """Return the node for an operation on these arguments, made before or new."""
        assert OPERATIONS[operation] == len(arguments), operation
        key = (operation, tuple(id(a) for a in arguments), detail)
        if key not in self._nodes:
            self._nodes[key] = Node(operation, arguments, detail, _rate(operation, arguments), place)
        return self._nodes[key]

    def constant(self, value: float) -> Node:
        """Return the node of a number."""
        return self.node("constant", detail=(float(value),))


def _rate(operation: str, arguments: tuple[Node, ...]) -> Rate:
    if operation == "time":
        return Rate.FRAME
    own = Rate.PIXEL if operation in {"place", "dice", "throw"} else Rate.CONSTANT
    for argument in arguments:
        own |= argument.rate
    return own
