"""What is dimensioned in a view: between feet and overall, and heights."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from lampwright.book.drawing.dimensions import LANE, Lane, dimension
from lampwright.book.drawing.sheet import Box, Sheet
from lampwright.book.drawing.subject import Subject, distinct
from lampwright.book.drawing.views import PLAN, View

Reals = NDArray[np.float64]

MOST_HEIGHTS = 5
"""Heights that are dimensioned, so that lanes don't eat the sheet; all are in the tables."""

_SAME = 0.0005  # lengths that differ by less are one [m]
_OFF = 3.0  # from the piece to where the extension lines of heights begin [mm]


def write_dimensions(sheet: Sheet, subject: Subject, view: View) -> int:
    """Draw a view's dimensions; return how many figures found no room."""
    return _on_plan(sheet, subject, view) if view.projection is PLAN else _on_elevation(sheet, subject, view)


def heights(subject: Subject) -> tuple[float, ...]:
    """Return the heights worth telling: tops, feet off the ground, lowest points of spans. [m]

    The overall height is among them.
    """
    tops = [float(member.points[:, 2].max()) for member in subject.members]
    feet = [float(foot[2]) for member in subject.members for foot in member.feet]
    spans = [span.lowest for span in subject.spans]
    found = [height for height in distinct([*tops, *feet, *spans]) if height > _SAME]
    return tuple(found) if len(found) <= MOST_HEIGHTS else (*found[: MOST_HEIGHTS - 1], found[-1])


def _on_plan(sheet: Sheet, subject: Subject, view: View) -> int:
    """Draw x above the plan and y to the right of it: a chain from foot to foot, then overall."""
    box = _box(subject, view)
    missing = 0
    for axis, edge, outward in ((0, box.top, -LANE), (1, box.right, LANE)):
        feet = distinct(float(foot[axis]) for member in subject.members for foot in member.feet)
        chains = [feet, _overall(subject, axis)]
        if feet[0] - chains[1][0] < _SAME and chains[1][-1] - feet[-1] < _SAME and len(feet) == 2:
            chains = chains[1:]
        shown = [chain for chain in chains if chain[-1] - chain[0] > _SAME]
        for number, chain in enumerate(shown):
            lane = Lane(edge + outward * (number + 1), edge, is_upright=axis == 1)
            missing += dimension(sheet, lane, _stops(view, chain, axis))
    return missing


def _on_elevation(sheet: Sheet, subject: Subject, view: View) -> int:
    """Draw the overall length below the ground, and heights over it to the right."""
    box = _box(subject, view)
    axis = int(np.argmax(np.abs(view.projection.right)))
    depth = max((each.member.support.socket or 0.0 for each in subject.members), default=0.0)
    below = max(box.bottom, view.at(np.zeros(3))[1]) + depth * view.scale + 1.0
    overall = _overall(subject, axis)
    missing = 0
    if overall[1] - overall[0] > _SAME:
        missing += dimension(sheet, Lane(below + LANE, below, False), _stops(view, overall, axis))
    for number, height in enumerate(heights(subject)):
        lane = Lane(box.right + _OFF + (number + 1) * LANE, box.right + _OFF, True)
        missing += dimension(sheet, lane, _stops(view, (0.0, height), 2))
    return missing


def _box(subject: Subject, view: View) -> Box:
    paper = view.to_paper(subject.outline())
    (left, top), (right, bottom) = paper.min(axis=0).tolist(), paper.max(axis=0).tolist()
    return Box(left, top, right, bottom)


def _overall(subject: Subject, axis: int) -> tuple[float, ...]:
    along = subject.outline()[:, axis]
    return float(along.min()), float(along.max())


def _stops(view: View, values: Iterable[float], axis: int) -> Sequence[tuple[float, float]]:
    """Return where coordinates along an axis of the piece [m] lie along the view's own, and themselves. [mm, m]"""
    is_across = abs(view.projection.right[axis]) > 0
    stops = []
    for value in values:
        point = np.zeros(3)
        point[axis] = value
        x, y = view.at(point)
        stops.append((x if is_across else y, value))
    return stops
