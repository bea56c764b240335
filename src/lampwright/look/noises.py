"""Value noise in whole numbers: the same steps as :func:`lampwright.look.steady.noise` and its kin.

Places have 16 bits, 8 of them behind the point, and come around after 256 cells.
"""

from __future__ import annotations

from collections.abc import Callable

from lampwright.look import tables
from lampwright.look.whole import Whole, Wholes


def noise(wholes: Wholes, u: Whole) -> Whole:
    """Return noise along one place."""
    return wholes.bump(wholes.shift(u, 8), _weight(wholes, u))


def noise2(wholes: Wholes, u: Whole, v: Whole) -> Whole:
    """Return noise over two places."""
    return _plane(wholes, u, v, None)


def noise3(wholes: Wholes, u: Whole, v: Whole, w: Whole) -> Whole:
    """Return noise over three places."""
    planes = []
    for step in (0, 1):
        offset = wholes.look_up(tables.SHUFFLE, _next(wholes, wholes.shift(w, 8), step))
        planes.append(wholes.shift(_plane(wholes, u, v, offset), 8))
    return wholes.blend(planes[0], planes[1], _weight(wholes, w))


NOISES: dict[str, Callable[..., Whole]] = {"noise": noise, "noise2": noise2, "noise3": noise3}
"""By the graph's operation."""


def _plane(wholes: Wholes, u: Whole, v: Whole, offset: Whole | None) -> Whole:
    """Return two-dimensional noise, its cells counted from ``offset``."""
    rows = []
    cell = wholes.shift(v, 8)
    if offset is not None:
        cell = wholes.wrap("wrap add", cell, offset, 8)
    for step in (0, 1):
        row = wholes.look_up(tables.SHUFFLE, _next(wholes, cell, step))
        start = wholes.wrap("wrap add", wholes.shift(u, 8), row, 8)
        rows.append(wholes.shift(wholes.bump(start, _weight(wholes, u)), 8))
    return wholes.blend(rows[0], rows[1], _weight(wholes, v))


def _next(wholes: Wholes, cell: Whole, step: int) -> Whole:
    return wholes.wrap("wrap add", cell, wholes.constant(1), 8) if step else cell


def _weight(wholes: Wholes, u: Whole) -> Whole:
    return wholes.look_up(tables.BLEND, wholes.low_bits(u, 8))
