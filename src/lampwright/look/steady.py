"""Values of a look that don't change with time, worked out when the firmware is written.

They may use floating point: what the chip and the picture share is the table or number
that comes out, already rounded to whole numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lampwright.look import tables
from lampwright.look.graph import CIRCUIT_INPUTS, Node, Rate

Steady = NDArray[np.float64]


@dataclass(frozen=True)
class Places:
    """Where the pixels of a circuit are, and the circuit's number.

    ``section`` and ``member`` are each pixel's numbers; empty where the piece has only one of them.
    """

    along: NDArray[np.float64]  # (n_pixel,) [m]
    xyz: NDArray[np.float64]  # (n_pixel, 3) [m]
    circuit: int
    section: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, dtype=np.int64))  # (n_pixel,) or (0,)
    member: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, dtype=np.int64))  # (n_pixel,) or (0,)

    @property
    def n_pixel(self) -> int:
        """Pixels of the circuit."""
        return len(self.along)

    def named(self, name: str) -> NDArray[np.float64]:
        """Return a place input by its name. [m] or a number"""
        if name == "along":
            return self.along
        if name == "pixel":
            return np.arange(self.n_pixel, dtype=np.float64)
        if name in {"section", "member"}:
            numbers = self.section if name == "section" else self.member
            return numbers.astype(np.float64) if len(numbers) else np.zeros(1)
        axis = {"x": 0, "y": 1, "z": 2, "height": 2}[name]
        return self.xyz[:, axis]


_NOWHERE = Places(np.zeros(1), np.zeros((1, 3)), 0)


def constant_value(node: Node) -> float | None:
    """Return the value of a node made of numbers only, or ``None`` where it depends on the circuit."""
    if any(n.operation in CIRCUIT_INPUTS for n in _all(node)):
        return None
    with np.errstate(all="ignore"):
        value = float(evaluate(node, _NOWHERE)[0])
    return value if np.isfinite(value) else None


def _all(node: Node) -> list[Node]:
    found = [node]
    for argument in node.arguments:
        found.extend(_all(argument))
    return found


def evaluate(node: Node, places: Places) -> Steady:
    """Return a steady node's value at each pixel, (n_pixel,) or (1,) where it is the same for all."""
    assert Rate.FRAME not in node.rate, node.operation
    return _Evaluation(places).value(node)


def evaluate_at(nodes: Sequence[Node], places: Places, seconds: NDArray[np.float64]) -> list[Steady]:
    """Return values at moments of the cue (n_time,) [s] in floating point, each broadcastable to (n_time, n_pixel).

    What the chip's whole numbers are held against; curves, noise and dice are read from the same tables.
    """
    evaluation = _Evaluation(places, seconds.reshape(-1, 1))
    return [evaluation.value(node) for node in nodes]


class _Evaluation:
    def __init__(self, places: Places, seconds: Steady | None = None) -> None:
        self.places, self.seconds = places, seconds
        self._done: dict[Node, Steady] = {}

    def value(self, node: Node) -> Steady:
        if node not in self._done:
            self._done[node] = self._value(node)
        return self._done[node]

    def _value(self, node: Node) -> Steady:
        operation = node.operation
        if operation == "constant":
            return np.array([node.detail[0]], dtype=np.float64)
        if operation == "time":
            assert self.seconds is not None, "a steady value doesn't ask for the time"
            return self.seconds
        if operation == "circuit":
            return np.array([float(self.places.circuit)])
        if operation == "pixels":
            return np.array([float(self.places.n_pixel)])
        if operation == "place":
            return self.places.named(str(node.detail[0])).astype(np.float64)
        if operation == "dice":
            return tables.dice(self.places.n_pixel, self.places.circuit, int(float(node.detail[0]))) / 65536
        arguments = [self.value(a) for a in node.arguments]
        if operation in _PLAIN:
            return np.asarray(_PLAIN[operation](*arguments), dtype=np.float64)
        return self._drawn(node, arguments)

    def _drawn(self, node: Node, arguments: list[Steady]) -> Steady:
        """Return an operation that goes through a table, by the same whole-number rule as the chip."""
        operation, detail = node.operation, node.detail
        if operation in TURNING:
            curve = turning_curve(node)
            phase = np.floor(arguments[0] * 65536).astype(np.int64) & 0xFFFF
            return curve.at(phase) / (1 << tables.CURVE_PLACES)
        if operation in HELD:
            phase = np.clip(np.floor(arguments[0] * 65536), 0, 65535).astype(np.int64)
            return HELD[operation].at(phase) / (1 << tables.CURVE_PLACES)
        if operation == "band":
            stops = np.array(detail, dtype=np.float64)
            return np.interp(np.clip(arguments[0], 0, 1) * (len(stops) - 1), np.arange(len(stops)), stops)
        if operation == "throw":
            own = tables.dice(self.places.n_pixel, self.places.circuit, int(float(detail[0])))
            moment = np.floor(arguments[0]).astype(np.int64) & 0xFFFF
            return tables.scramble((own + moment * tables.MOMENT_STEP) & 0xFFFF) / 65536
        grid = [np.floor(a * 256).astype(np.int64) & 0xFFFF for a in arguments]
        return NOISES[operation](*grid) / 65536


TURNING = frozenset({"sine", "swell", "pulse", "wheel"})
"""Operations that read a curve at a place which comes around."""

HELD = {"ease": tables.EASE, "seen": tables.SEEN}
"""Operations that read a curve from 0 to 1 and hold its ends."""


def turning_curve(node: Node) -> tables.Curve:
    """Return the curve of an operation in :data:`TURNING`."""
    if node.operation == "pulse":
        return tables.pulse(float(node.detail[0]), float(node.detail[1]))
    if node.operation == "wheel":
        return tables.WHEEL[int(float(node.detail[0]))]
    return {"sine": tables.SINE, "swell": tables.SWELL}[node.operation]


def blend(start: NDArray[np.int64], end: NDArray[np.int64], weight: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return start x (255 - weight) + end x weight, all of 8 bits."""
    total: NDArray[np.int64] = start * (255 - weight) + end * weight
    return total


def bump(cell: NDArray[np.int64], weight: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the blend from a lattice cell's shuffled number to the next one's."""
    return blend(tables.SHUFFLE.fast.take(cell), tables.SHUFFLE.fast.take(cell + 1), weight)


def noise(u: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return one-dimensional value noise at ``u`` (8 binary places, wraps at 256), 0 to 65025."""
    return bump(u >> 8, tables.BLEND.values[u & 255])


def noise2(u: NDArray[np.int64], v: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return two-dimensional value noise at (``u``, ``v``), 8 binary places each, 0 to 64770."""
    return _plane(u, v, np.zeros(1, dtype=np.int64))


def noise3(u: NDArray[np.int64], v: NDArray[np.int64], w: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return three-dimensional value noise, 8 binary places each, 0 to 64515."""
    cell, weight = w >> 8, tables.BLEND.values[w & 255]
    planes = [_plane(u, v, tables.SHUFFLE.values[(cell + step) & 255]) >> 8 for step in (0, 1)]
    return blend(planes[0], planes[1], weight)


NOISES: dict[str, Callable[..., NDArray[np.int64]]] = {"noise": noise, "noise2": noise2, "noise3": noise3}
"""Noises of one, two and three places."""


def _plane(u: NDArray[np.int64], v: NDArray[np.int64], offset: NDArray[np.int64]) -> NDArray[np.int64]:
    cell, weight = (v >> 8) + offset, tables.BLEND.values[v & 255]
    rows = [_row(u, tables.SHUFFLE.values[(cell + step) & 255]) for step in (0, 1)]
    return blend(rows[0], rows[1], weight)


def _row(u: NDArray[np.int64], offset: NDArray[np.int64]) -> NDArray[np.int64]:
    return bump(((u >> 8) + offset) & 255, tables.BLEND.values[u & 255]) >> 8


def _choice(test: Steady, yes: Steady, no: Steady) -> Steady:
    chosen: Steady = np.where(test > 0.5, yes, no)
    return chosen


_PLAIN: dict[str, Callable[..., Steady]] = {
    "add": np.add,
    "subtract": np.subtract,
    "multiply": np.multiply,
    "divide": np.divide,
    "least": np.minimum,
    "most": np.maximum,
    "magnitude": np.abs,
    "floor": np.floor,
    "fraction": lambda x: x - np.floor(x),
    "below": lambda a, b: (a < b).astype(np.float64),
    "at most": lambda a, b: (a <= b).astype(np.float64),
    "equal": lambda a, b: (a == b).astype(np.float64),
    "both": np.minimum,
    "either": np.maximum,
    "not": lambda a: 1.0 - a,
    "choose": _choice,
}
