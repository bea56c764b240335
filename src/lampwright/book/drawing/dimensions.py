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
    groups = [list(alike) for _, alike in groupby(parts, key=lambda part: part[2])]
    missing = sum(
        _figures(sheet, lane, alike, is_first=number == 0, is_last=number == len(groups) - 1)
        for number, alike in enumerate(groups)
    )
    sheet.taken += [*thin, bounds(whole)]
    return missing


def _figures(sheet: Sheet, lane: Lane, alike: Sequence[tuple[float, float, str]], is_first: bool, is_last: bool) -> int:
    """Write the figures of neighbouring equal parts; return how many found no room.

    Each on its own part; where these are narrow one for all, and where that is wider than they are together beyond
    the end of the chain, or below the line.
    """
    figure = alike[0][2]
    if all(_width(figure) <= abs(end - start) for start, end, _ in alike):
        return sum(not _write(sheet, lane, (start + end) / 2, figure) for start, end, _ in alike)
    start, end = alike[0][0], alike[-1][1]
    text = figure if len(alike) == 1 else f"{len(alike)} × {figure}"
    middle, beyond = (start + end) / 2, (_width(text) / 2 + _TICK) * (1.0 if end > start else -1.0)
    places = [(middle, False), (middle, True)]
    if _width(text) > abs(end - start):
        places = [(end + beyond, False)] * is_last + [(start - beyond, False)] * is_first + places
    return 0 if any(_write(sheet, lane, along, text, is_below) for along, is_below in places) else len(alike)


def _width(figure: str) -> float:
    return text_width(figure, TEXT) + 1.0


def _write(sheet: Sheet, lane: Lane, along: float, text: str, is_below: bool = False) -> bool:
    """Write a figure above its line, or below it; return whether there was room."""
    across = lane.at + (_ABOVE + 0.78 * TEXT if is_below else -_ABOVE)
    at = lane.point(along, across)
    box = text_box(at, text, TEXT, "middle", lane.is_upright)
    if any(box.overlaps(other, 0.4) for other in sheet.taken):
        return False
    sheet.text(at, text, TEXT, "middle", lane.is_upright)
    return True
