"""Writes whole-number values as one loop over frames and pixels, which numba compiles.

The fourth back-end, for whole shows: numpy goes through memory once for each operation, this once for
all. What differs between circuits and settings alone (constants, tables) is handed over as data, so that
one compiled loop serves every circuit of a piece, and is kept for the next time.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.look.graph import Rate
from lampwright.look.run import in_order
from lampwright.look.tables import SHUFFLE, Curve, Table
from lampwright.look.whole import Whole

HEAD = "def loop(times, constants, clocks, places, tables, starts, out):\n"


@dataclass(frozen=True)
class Fused:
    """The text of a loop, and the data that it runs on.

    ``constants`` (n,) int64; ``clocks`` (n,) uint64 increments; ``places`` (n, n_pixel) int64, a row for
    each table of pixels; ``tables`` (n,) int64, all tables one after the other from ``starts`` (n,) on.
    """

    text: str
    constants: NDArray[np.int64]
    clocks: NDArray[np.uint64]
    places: NDArray[np.int64]
    tables: NDArray[np.int64]
    starts: NDArray[np.int64]


def fuse(roots: Sequence[Whole], n_pixel: int) -> Fused:
    """Return one loop that puts the values of ``roots`` for each frame and pixel."""
    return _Writer(n_pixel).fused(roots)


class _Writer:
    def __init__(self, n_pixel: int) -> None:
        self.n_pixel = n_pixel
        self.names: dict[Whole, str] = {}
        self.constants: list[int] = []
        self.clocks: list[int] = []
        self.places: list[NDArray[np.int64]] = []
        self.tables: list[NDArray[np.int64]] = []
        self.table_names: dict[int, str] = {}

    def fused(self, roots: Sequence[Whole]) -> Fused:
        frame: list[str] = []
        pixel: list[str] = []
        for number, node in enumerate(in_order(roots)):
            self.names[node] = f"v{number}"
            (pixel if Rate.PIXEL in node.rate else frame).append(f"v{number} = {self._text(node)}")
        puts = [f"out[f, i, {channel}] = {self.names[root]}" for channel, root in enumerate(roots)]
        first = [
            *(f"k{n} = constants[{n}]" for n in range(len(self.constants))),
            *(f"c{n} = clocks[{n}]" for n in range(len(self.clocks))),
            *(f"s{n} = starts[{n}]" for n in range(len(self.tables))),
        ]
        text = HEAD + _indented(1, first)
        text += _indented(1, ["for f in range(times.size):"]) + _indented(2, ["t = np.uint64(times[f])", *frame])
        text += _indented(2, ["for i in range(out.shape[1]):"]) + _indented(3, [*pixel, *puts])
        sizes = np.array([len(table) for table in self.tables], dtype=np.int64)
        return Fused(
            text,
            np.array(self.constants, dtype=np.int64),
            np.array([clock % (1 << 64) for clock in self.clocks], dtype=np.uint64),
            np.array(self.places, dtype=np.int64).reshape(-1, self.n_pixel),
            np.concatenate([*self.tables, np.zeros(1, np.int64)]),
            np.cumsum(sizes) - sizes,
        )

    def _text(self, node: Whole) -> str:
        arguments = [self.names[argument] for argument in node.arguments]
        match node.operation:
            case "constant":
                self.constants.append(node.numbers[0])
                return f"k{len(self.constants) - 1}"
            case "clock":
                return self._clock(node)
            case "pixel":
                assert isinstance(node.data, Table)
                self.places.append(np.asarray(node.data.values, dtype=np.int64))
                return f"places[{len(self.places) - 1}, i]"
            case "look up":
                assert isinstance(node.data, Table)
                return f"tables[{self._start(node.data)} + {arguments[0]}]"
            case "curve":
                assert isinstance(node.data, Curve)
                values, steps, phase = self._start(node.data.values), self._start(node.data.steps), arguments[0]
                slope = f"tables[{steps} + ({phase} >> 8)] * ({phase} & 255) >> 8"
                return f"tables[{values} + ({phase} >> 8)] + ({slope})"
            case "bump":
                (cell, weight), shuffle = arguments, self._start(SHUFFLE)
                near, far = f"tables[{shuffle} + {cell}]", f"tables[{shuffle} + {cell} + 1]"
                return f"{near} * (255 - {weight}) + {far} * {weight}"
        return TEXTS[node.operation](node.numbers, *arguments)

    def _clock(self, node: Whole) -> str:
        increment, shift, bits = node.numbers
        self.clocks.append(increment)
        product = f"(t * c{len(self.clocks) - 1} >> np.uint64({shift}))"
        return f"np.int64({product} & np.uint64({(1 << bits) - 1}))"

    def _start(self, table: Table) -> str:
        """Return the name of where a table begins among all tables."""
        if id(table) not in self.table_names:
            self.table_names[id(table)] = f"s{len(self.tables)}"
            self.tables.append(np.asarray(table.values, dtype=np.int64))
        return self.table_names[id(table)]


def _indented(depth: int, lines: Sequence[str]) -> str:
    return "".join(f"{'    ' * depth}{line}\n" for line in lines)


TEXTS: dict[str, Callable[..., str]] = {
    "add": lambda _, a, b: f"{a} + {b}",
    "subtract": lambda _, a, b: f"{a} - {b}",
    "multiply": lambda _, a, b: f"{a} * {b}",
    "divide": lambda _, a, b: f"{a} // {b}",
    "shift right": lambda n, a: f"{a} >> {n[0]}",
    "shift left": lambda n, a: f"{a} << {n[0]}",
    "low bits": lambda n, a: f"{a} & {(1 << n[0]) - 1}",
    "wrap add": lambda n, a, b: f"({a} + {b}) & {(1 << n[0]) - 1}",
    "wrap multiply": lambda n, a, b: f"{a} * {b} & {(1 << n[0]) - 1}",  # wraps at 64 bits: the lowest are right
    "least": lambda _, a, b: f"min({a}, {b})",
    "most": lambda _, a, b: f"max({a}, {b})",
    "magnitude": lambda _, a: f"abs({a})",
    "below": lambda _, a, b: f"1 if {a} < {b} else 0",
    "at most": lambda _, a, b: f"1 if {a} <= {b} else 0",
    "equal": lambda _, a, b: f"1 if {a} == {b} else 0",
    "both": lambda _, a, b: f"{a} & {b}",
    "either": lambda _, a, b: f"{a} | {b}",
    "not": lambda _, a: f"1 - {a}",
    "choose": lambda _, test, yes, no: f"{yes} if {test} else {no}",
    "blend": lambda _, start, end, weight: f"{start} * (255 - {weight}) + {end} * {weight}",
    "scramble": lambda _, a: f"scramble({a})",
}
"""How each operation is written; those that read data stand in :meth:`_Writer._text`."""
