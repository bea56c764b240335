"""Dimension lines: chains from tick to tick, in lanes beside a view, in millimetres.

Oblique ticks, figures above the line, read from below and from the right: ISO 129-1 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from lampwright.book.drawing.sheet import FINE, TEXT, THIN, Box, Point, Sheet, Style, bounds, text_box, text_width

LANE = 6.5
"""From one dimension line to the next, and from the view to the first. [mm]"""
_TICK, _BEYOND, _GAP = 1.1, 1.5, 1.0  # half a tick, extension past the line, from the object to the extension [mm]
_ABOVE = 0.8  # from the line to the figure [mm]
_EXTENSION = Style(FINE)
_LINE = Style(THIN)


@dataclass(frozen=True)
class Lane:
    """Where a dimension line runs: at this x or y on the paper."""

    at: float  # of the dimension line [mm]
    edge: float  # where the object ends and extension lines begin [mm]
    is_upright: bool

    def point(self, along: float, across: float) -> Point:
        """Return the place on the paper; upright lanes run along y."""
        return (across, along) if self.is_upright else (along, across)


def millimetres(length: float) -> str:
    """Return a length [m] as a figure on a drawing."""
    return str(round(1000 * length))


def dimension(sheet: Sheet, lane: Lane, stops: Sequence[tuple[float, float]]) -> int:
    """Draw a chain of dimensions; return how many figures found no room.

    Its line and its extension lines count as taken, so that no label covers them.

    Parameters
    ----------
    stops
        Place along the lane on the paper [mm] and the measured coordinate [m], in rising order of the latter.
    """
    thin: list[Box] = []
    outward = 1.0 if lane.at > lane.edge else -1.0
    for along, _ in stops:
        ends = (lane.edge + outward * _GAP, lane.at + outward * _BEYOND)
        sheet.line([lane.point(along, end) for end in ends], _EXTENSION)
        thin.append(bounds([lane.point(along, end) for end in ends]))
        slant = _TICK if lane.is_upright else -_TICK
        sheet.line([lane.point(along - _TICK, lane.at - slant), lane.point(along + _TICK, lane.at + slant)], _LINE)
    whole = [lane.point(stops[0][0], lane.at), lane.point(stops[-1][0], lane.at)]
    sheet.line(whole, _LINE)
    parts = [(a[0], b[0], millimetres(b[1] - a[1])) for a, b in pairwise(stops)]
    missing = sum(_figures(sheet, lane, list(alike)) for _, alike in groupby(parts, key=lambda part: part[2]))
    sheet.taken += [*thin, bounds(whole)]
    return missing


def _figures(sheet: Sheet, lane: Lane, alike: Sequence[tuple[float, float, str]]) -> int:
    """Write the figures of neighbouring equal parts: each, or where they are narrow one for all."""
    figure = alike[0][2]
    if all(text_width(figure, TEXT) + 1.0 <= abs(end - start) for start, end, _ in alike):
        for start, end, _ in alike:
            _write(sheet, lane, (start + end) / 2, figure)
        return 0
    start, end = alike[0][0], alike[-1][1]
    text = figure if len(alike) == 1 else f"{len(alike)} × {figure}"
    is_written = any(_write(sheet, lane, (start + end) / 2, text, is_beyond) for is_beyond in (False, True))
    return 0 if is_written else len(alike)


def _write(sheet: Sheet, lane: Lane, along: float, text: str, is_beyond: bool = False) -> bool:
    """Write a figure above its line, or below it; return whether there was room."""
    across = lane.at + (_ABOVE + 0.78 * TEXT if is_beyond else -_ABOVE)
    at = lane.point(along, across)
    box = text_box(at, text, TEXT, "middle", lane.is_upright)
    if any(box.overlaps(other, 0.4) for other in sheet.taken):
        return False
    sheet.text(at, text, TEXT, "middle", lane.is_upright)
    return True
