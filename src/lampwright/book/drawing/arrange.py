"""Where the views stand on a sheet, and the largest scale at which all of them fit with their dimensions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from lampwright.book.drawing.dimensions import LANE
from lampwright.book.drawing.measures import heights
from lampwright.book.drawing.sheet import HEADING, Box, text_box
from lampwright.book.drawing.subject import PERSON, Subject
from lampwright.book.drawing.views import ISOMETRIC, PLAN, Projection, View

SCALES = (
    1, 2, 5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200, 300, 500, 750, 1000, 2000, 5000, 10_000, 20_000, 50_000,
    100_000,
)  # fmt: skip
"""One to so many: ISO 5455's and, for a fuller sheet, some between them (common practice, no source)."""

Rows = Sequence[Sequence[Projection]]

_BETWEEN = 1.0  # from a cell's edge to the view [mm]
_HEAD = 6.0  # for a view's title [mm]
_LABELS = 8.0  # for labels around a view [mm]
_LEAST_ISOMETRIC = 0.3  # of the room's width and height
_WIDER_ISOMETRIC = 0.65  # of the width that is left over, for the column of the isometric view


@dataclass(frozen=True)
class Arrangement:
    """Views at their places, all but the isometric one at one to ``scale``."""

    scale: int
    views: tuple[View, ...]


@dataclass(frozen=True)
class _Need:
    """What a view shows, in its own axes [m], and what its title, labels and dimensions take around it. [mm]"""

    projection: Projection
    shown: Box
    """With y upward: its bottom is above its top."""
    margins: Box

    def width(self, scale: float) -> float:
        title = text_box((0.0, 0.0), self.projection.title, HEADING, bold=True).width + 2 * _BETWEEN
        return max(title, self.margins.left + self.margins.right + self.shown.width * scale)

    def height(self, scale: float) -> float:
        return self.margins.top + self.margins.bottom + self.shown.height * scale


def arrange(subject: Subject, rows: Rows, room: Box) -> Arrangement:
    """Return the views, row by row, at the largest scale at which they fit a part of a sheet."""
    needs = [[_need(subject, projection) for projection in row] for row in rows]
    scale = next((each for each in SCALES if _fits(needs, 1000 / each, room)), SCALES[-1])
    return Arrangement(scale, tuple(_views(needs, 1000 / scale, room)))


def _need(subject: Subject, projection: Projection) -> _Need:
    drawn = [subject.outline()]
    if projection is not PLAN:
        aside, head = np.array([0.25, 0.25, 0.0]), np.array([0.0, 0.0, PERSON])
        drawn.append(subject.person + np.stack([-aside, aside, head]))
    for member in subject.members:
        feet = np.array(member.feet)
        base, socket = member.member.support.base, member.member.support.socket
        reach = base.reach if base else 0.0
        around, under = np.array([reach, reach, 0.0]), np.array([0.0, 0.0, socket or 0.0])
        drawn += [feet + around, feet - around, feet - under]
    flat = projection.flat(np.concatenate(drawn))
    (left, low), (right, high) = flat.min(axis=0).tolist(), flat.max(axis=0).tolist()
    if projection is PLAN:
        margins = Box(_LABELS, _HEAD + 2 * LANE + 2, 2 * LANE + _LABELS, _LABELS)
    elif projection is ISOMETRIC:
        margins = Box(_LABELS, _HEAD + _LABELS, _LABELS, _LABELS)
    else:
        margins = Box(_LABELS, _HEAD + _LABELS, len(heights(subject)) * LANE + 6, LANE + 6)
    return _Need(projection, Box(left, low, right, high), margins)


def _fits(needs: Sequence[Sequence[_Need]], scale: float, room: Box) -> bool:
    widths, tall = _grid(needs, scale, room)
    return sum(widths) <= room.width and sum(tall) <= room.height


def _grid(needs: Sequence[Sequence[_Need]], scale: float, room: Box) -> tuple[list[float], list[float]]:
    """Return the widths of the columns and the heights of the rows that the views need at least. [mm]"""

    def width(need: _Need) -> float:
        return _LEAST_ISOMETRIC * room.width if need.projection is ISOMETRIC else need.width(scale)

    def height(need: _Need) -> float:
        return _LEAST_ISOMETRIC * room.height if need.projection is ISOMETRIC else need.height(scale)

    widths = [max(width(row[column]) for row in needs) for column in range(len(needs[0]))]
    return widths, [max(height(need) for need in row) for row in needs]


def _views(needs: Sequence[Sequence[_Need]], scale: float, room: Box) -> Iterable[View]:
    """Yield the views in their cells; the column of the isometric view gets the most of what is left."""
    widths, tall = _grid(needs, scale, room)
    spare, each = room.width - sum(widths), (room.height - sum(tall)) / len(tall)
    has_isometric = any(need.projection is ISOMETRIC for row in needs for need in row)
    second = _WIDER_ISOMETRIC if has_isometric else 0.5
    edge = room.left + widths[0] + (1 - second) * spare
    y = room.top
    for row, height in zip(needs, tall, strict=True):
        below = y + height + each
        for need, left, right in zip(row, (room.left, edge), (edge, room.right), strict=True):
            cell = Box(left + _BETWEEN, y, right - _BETWEEN, below)
            yield _isometric(need, cell) if need.projection is ISOMETRIC else _placed(need, scale, cell, needs)
        y = below


def _isometric(need: _Need, cell: Box) -> View:
    """Put the isometric view into its cell, as large as that holds."""
    room = Box(
        cell.left + need.margins.left,
        cell.top + need.margins.top,
        cell.right - need.margins.right,
        cell.bottom - need.margins.bottom,
    )
    scale = min(room.width / max(need.shown.width, 1e-6), room.height / max(need.shown.height, 1e-6))
    (x, y), (across, up) = room.centre, need.shown.centre
    return View(need.projection, scale, (x - across * scale, y + up * scale), cell)


def _placed(need: _Need, scale: float, cell: Box, needs: Sequence[Sequence[_Need]]) -> View:
    """Put a view into the middle of its cell, in line with those that share its axis to the right or upward."""
    others = [other for row in needs for other in row if other.projection is not ISOMETRIC]
    alike_x = [other for other in others if other.projection.right == need.projection.right]
    alike_y = [other for other in others if other.projection.up == need.projection.up]
    left = max(other.margins.left - other.shown.left * scale for other in alike_x)
    right = max(other.margins.right + other.shown.right * scale for other in alike_x)
    above = max(other.margins.top + other.shown.bottom * scale for other in alike_y)
    below = max(other.margins.bottom - other.shown.top * scale for other in alike_y)
    x = cell.left + left + (cell.width - left - right) / 2
    y = cell.top + above + (cell.height - above - below) / 2
    return View(need.projection, scale, (x, y), cell)
