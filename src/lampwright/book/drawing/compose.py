"""Sheets of a piece: the largest scale at which the views fit, then tables; numbered, with one hash for all."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lampwright.book.drawing.dimensions import LANE
from lampwright.book.drawing.figure import draw_figure
from lampwright.book.drawing.notes import heights, write_notes
from lampwright.book.drawing.sheet import Box, Paper, Sheet
from lampwright.book.drawing.subject import PERSON, Subject, subject_of
from lampwright.book.drawing.tables import set_tables, tables_of
from lampwright.book.drawing.title import BAND, HASH_LENGTH, NO_HASH, Title, draw_band, frame_of
from lampwright.book.drawing.views import FRONT, ISOMETRIC, PLAN, SIDE, Projection, View
from lampwright.book.typeset import typeset
from lampwright.layout.model import Layout

SCALES = (
    1,
    2,
    5,
    10,
    15,
    20,
    25,
    30,
    40,
    50,
    75,
    100,
    150,
    200,
    300,
    500,
    750,
    1000,
    2000,
    5000,
    10_000,
    20_000,
    50_000,
)
"""One to so many: ISO 5455's and, for a fuller sheet, some between them (common practice, no source)."""

_TABLES = "tables"
_HEAD = 6.0  # for a view's title [mm]
_LABELS = 8.0  # for labels around a view [mm]
_LEAST_ISOMETRIC = 0.3  # of the frame's width and height


@dataclass(frozen=True)
class _Need:
    """A view's size at scale 1 to 1 [m], and what its dimensions take on each side. [mm]"""

    projection: Projection
    low: tuple[float, float]
    high: tuple[float, float]
    margins: Box

    def width(self, scale: float) -> float:
        return self.margins.left + self.margins.right + (self.high[0] - self.low[0]) * scale

    def height(self, scale: float) -> float:
        return self.margins.top + self.margins.bottom + (self.high[1] - self.low[1]) * scale


def draw_piece(layout: Layout, paper: Paper) -> tuple[str, ...]:
    """Return the sheets of a piece as SVG, in order.

    A3 holds plan, front, side and isometric on one sheet; on A4 they take two. Tables follow. The hash in every title
    strip is of all that is drawn, so that two prints are of the same state exactly when their hashes are the same; no
    date is in it.
    """
    subject = subject_of(layout)
    pairs = ((PLAN, ISOMETRIC), (FRONT, SIDE))
    arranged = [pairs] if paper.name == "A3" else [(pair,) for pair in pairs]
    drawn = [_view_sheet(paper, subject, rows) for rows in arranged]
    waiting = list(tables_of(layout, subject))
    while waiting:
        sheet = Sheet(paper)
        frame = frame_of(sheet)
        waiting = set_tables(
            waiting, sheet, Box(frame.left + 4, frame.top + 4, frame.right - 4, frame.bottom - BAND - 3)
        )
        drawn.append((sheet, _TABLES, "–"))
    for number, (sheet, what, scale) in enumerate(drawn):
        draw_band(sheet, layout, Title(what, scale, number + 1, len(drawn)), has_legend=what != _TABLES)
    whole = "\n".join(sheet.body() for sheet, _, _ in drawn)
    digest = hashlib.sha256(whole.encode()).hexdigest()[:HASH_LENGTH]
    return tuple(sheet.svg().replace(NO_HASH, digest) for sheet, _, _ in drawn)


def drawing_pdf(name: str, sheets: Sequence[str], paper: Paper) -> bytes:
    """Return sheets of one paper as a PDF, a page for each, at their own size."""
    data = {"name": name, "width": paper.width, "height": paper.height, "sheets": list(sheets)}
    return typeset("drawing", data)


def _view_sheet(
    paper: Paper, subject: Subject, rows: tuple[tuple[Projection, Projection], ...]
) -> tuple[Sheet, str, str]:
    sheet = Sheet(paper)
    frame = frame_of(sheet)
    room = Box(frame.left + 2, frame.top + 2, frame.right - 2, frame.bottom - BAND - 2)
    needs = [[_need(subject, projection) for projection in row] for row in rows]
    scale = next((each for each in SCALES if _fits(needs, 1000 / each, room)), SCALES[-1])
    missing = 0
    for view in _views(needs, 1000 / scale, room):
        draw_figure(sheet, subject, view)
        missing += write_notes(sheet, subject, view)
    if missing:
        note = f"{missing} close figures and names are" if missing > 1 else "1 close figure or name is"
        sheet.text((room.left, room.bottom - 0.5), f"{note} in the tables alone")
    names = [projection.title.split(",")[0].lower() for row in rows for projection in row]
    note = ", isometric not to scale" if ISOMETRIC in [projection for row in rows for projection in row] else ""
    return sheet, ", ".join(names), f"1:{scale}{note}"


def _need(subject: Subject, projection: Projection) -> _Need:
    head = subject.person + np.array([0.0, 0.0, PERSON])
    side = np.array([0.25, 0.25, 0.0])
    drawn = [subject.outline()]
    if projection is not PLAN:
        drawn.append(np.stack([subject.person - side, subject.person + side, head]))
    for member in subject.members:
        base, socket = member.member.support.base, member.member.support.socket
        reach = base.reach if base else 0.0
        drawn += [
            np.array([foot + sign * reach * np.array([1.0, 1.0, 0.0]) for foot in member.feet]) for sign in (1, -1)
        ]
        drawn.append(np.array([foot - [0.0, 0.0, socket or 0.0] for foot in member.feet]))
    flat = projection.flat(np.concatenate(drawn))
    margins = {
        PLAN: Box(_LABELS, _HEAD + 2 * LANE + 2, 2 * LANE + _LABELS, _LABELS),
        ISOMETRIC: Box(_LABELS, _HEAD + _LABELS, _LABELS, _LABELS),
    }.get(projection, Box(_LABELS, _HEAD + _LABELS, len(heights(subject)) * LANE + 6, LANE + 6))
    (left, bottom), (right, top) = flat.min(axis=0).tolist(), flat.max(axis=0).tolist()
    return _Need(projection, (left, bottom), (right, top), margins)


def _fits(needs: list[list[_Need]], scale: float, room: Box) -> bool:
    widths, heights_ = _grid(needs, scale, room)
    return sum(widths) <= room.width and sum(heights_) <= room.height


def _grid(needs: list[list[_Need]], scale: float, room: Box) -> tuple[list[float], list[float]]:
    """Return the widths of the columns and the heights of the rows that the views need at least. [mm]"""

    def width(need: _Need) -> float:
        return _LEAST_ISOMETRIC * room.width if need.projection is ISOMETRIC else need.width(scale)

    def height(need: _Need) -> float:
        return _LEAST_ISOMETRIC * room.height if need.projection is ISOMETRIC else need.height(scale)

    widths = [max(width(row[column]) for row in needs) for column in range(len(needs[0]))]
    return widths, [max(height(need) for need in row) for row in needs]


def _views(needs: list[list[_Need]], scale: float, room: Box) -> list[View]:
    widths, heights_ = _grid(needs, scale, room)
    # What is left goes to the column and the row of the isometric view, which grows with them.
    has_isometric = any(need.projection is ISOMETRIC for row in needs for need in row)
    spare = room.width - sum(widths)
    widths = [
        widths[0] + (0.35 * spare if has_isometric else 0.5 * spare),
        widths[1] + (0.65 if has_isometric else 0.5) * spare,
    ]
    left_over = (room.height - sum(heights_)) / len(heights_)
    heights_ = [height + left_over for height in heights_]
    found = []
    y = room.top
    for row, height in zip(needs, heights_, strict=True):
        x = room.left
        for need, width in zip(row, widths, strict=True):
            found.append(_placed(need, scale, Box(x + 1, y, x + width - 1, y + height), needs))
            x += width
        y += height
    return found


def _placed(need: _Need, scale: float, cell: Box, needs: list[list[_Need]]) -> View:
    """Put a view into the middle of its cell; front and plan keep one x, front and side one height."""
    margins = need.margins
    if need.projection is ISOMETRIC:
        free = (cell.width - margins.left - margins.right, cell.height - margins.top - margins.bottom)
        size = (need.high[0] - need.low[0], need.high[1] - need.low[1])
        scale = min(room / max(length, 1e-6) for room, length in zip(free, size, strict=True))
        alike_x = alike_y = [need]
    else:
        column = next(i for row in needs for i, other in enumerate(row) if other is need)
        alike_x = [row[column] for row in needs if row[column].projection is not ISOMETRIC]
        alike_y = [other for row in needs if need in row for other in row if other.projection is not ISOMETRIC]
        alike_x = [other for other in alike_x if other.projection.right == need.projection.right]
        alike_y = [other for other in alike_y if other.projection.up == need.projection.up]
    left = max(other.margins.left - other.low[0] * scale for other in alike_x)
    right = max(other.margins.right + other.high[0] * scale for other in alike_x)
    top = max(other.margins.top + other.high[1] * scale for other in alike_y)
    bottom = max(other.margins.bottom - other.low[1] * scale for other in alike_y)
    x = cell.left + left + (cell.width - left - right) / 2
    y = cell.top + top + (cell.height - top - bottom) / 2
    return View(need.projection, scale, (x, y), cell)
