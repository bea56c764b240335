"""Runs whole-number values in numpy: blocks of frames by all pixels at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lampwright.look.whole import Integers, Whole, evaluate_one

_CELLS = 1 << 14
"""Pixels times frames worked on at once: intermediate arrays then stay in the processor's cache,
and are small enough for the allocator to hand out again without asking the system."""


def in_order(roots: Sequence[Whole]) -> list[Whole]:
    """Return every node below ``roots``, arguments before those that use them."""
    order: list[Whole] = []
    seen: set[Whole] = set()

    def visit(node: Whole) -> None:
        if node in seen:
            return
        seen.add(node)
        for argument in node.arguments:
            visit(argument)
        order.append(node)

    for root in roots:
        visit(root)
    return order


def run(roots: Sequence[Whole], times: NDArray[np.int64], n_pixel: int) -> NDArray[np.uint8]:
    """Return the codes (n_time, n_pixel, n_root) at the cue's frame numbers ``times`` (n_time,)."""
    order = in_order(roots)
    result = np.empty((len(times), n_pixel, len(roots)), dtype=np.uint8)
    step = max(1, _CELLS // max(1, n_pixel))
    steady = {node: evaluate_steady(node) for node in order if node.operation in {"constant", "pixel"}}
    for first in range(0, len(times), step):
        part = slice(first, first + step)
        values = evaluate(order, times[part], steady)
        for channel, root in enumerate(roots):
            result[part, :, channel] = values[root]
    return result


def evaluate_steady(node: Whole) -> Integers:
    """Return the value of a constant or a table of pixels."""
    return evaluate_one(node, [], np.zeros((1, 1), dtype=np.int64))


def evaluate(
    order: Sequence[Whole], times: NDArray[np.int64], steady: dict[Whole, Integers] | None = None
) -> dict[Whole, Integers]:
    """Return every node's value, broadcastable to (n_time, n_pixel)."""
    frame = times.reshape(-1, 1)
    values: dict[Whole, Integers] = dict(steady or {})
    for node in order:
        if node not in values:
            values[node] = evaluate_one(node, [values[a] for a in node.arguments], frame)
    return values
