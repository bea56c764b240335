"""Where a label stands: near what it names, clear of every other label, and off the lines as far as it goes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from lampwright.book.drawing.sheet import Box, Point, Sheet

Reals = NDArray[np.float64]

_ANGLES = 24
_DISTANCES = (3.5, 5.0, 7.0, 9.5, 12.5, 16.0, 20.0, 26.0)  # from the point to the label's near edge [mm]
_GAP = 0.5  # between labels [mm]
_LINE_COST, _FAR_COST = 1.0, 0.35  # of a line's millimetre under the label; of a millimetre's distance


def place_label(
    sheet: Sheet,
    points: Iterable[Point],
    size: tuple[float, float],
    room: Box,
    lines: Reals,
    most: float,
    is_clear: bool = False,
) -> tuple[Box, Point] | None:
    """Return the best box for a label and the point that it then names; ``None`` where all is taken.

    Parameters
    ----------
    points
        Places that the label may name, any of them.
    size
        Width and height of the label. [mm]
    room
        It stays within this.
    lines : (n, 2) float64
        Points about a millimetre apart along what is drawn, which is better left visible. [mm]
    most
        It stands no farther off than this. [mm]
    is_clear
        Whether it may cover nothing that is drawn.
    """
    taken = np.array([(box.left, box.top, box.right, box.bottom) for box in sheet.taken]).reshape(-1, 4)
    best: tuple[float, Box, Point] | None = None
    for point in points:
        within = max(size) + most
        near = lines[np.all(np.abs(lines - point) < within, axis=1)]
        for distance in (each for each in _DISTANCES if each <= most):
            if best is not None and best[0] <= _FAR_COST * distance:
                break
            boxes = _free(_around(point, distance, size), taken, room)
            if not len(boxes):
                continue
            under = _under(boxes, near)
            if is_clear:
                under = np.where(under > 0, math.inf, 0.0)
            index = int(np.argmin(under))
            cost = _FAR_COST * distance + _LINE_COST * float(under[index])
            if cost < (math.inf if best is None else best[0]):
                best = cost, Box(*boxes[index].tolist()), point
    return None if best is None else best[1:]


def nearest_edge(box: Box, point: Point) -> Point:
    """Return where a leader from a point meets a box."""
    x, y = point
    return min(max(x, box.left), box.right), min(max(y, box.top), box.bottom)


def sampled(lines: Sequence[Reals]) -> Reals:
    """Return points about a millimetre apart along (n, 2) lines on the paper. [mm]"""
    found = [np.empty((0, 2))]
    for line in lines:
        steps = np.hypot(*np.diff(line, axis=0).T)
        along = np.concatenate([[0.0], np.cumsum(steps)])
        at = np.linspace(0.0, along[-1], max(2, math.ceil(float(along[-1])) + 1))
        found.append(np.stack([np.interp(at, along, line[:, 0]), np.interp(at, along, line[:, 1])], axis=1))
    return np.concatenate(found)


def _around(point: Point, distance: float, size: tuple[float, float]) -> Reals:
    """Return (n, 4) boxes whose near edge is this far from a point, from above it on and clockwise. [mm]"""
    angle = np.arange(_ANGLES) * (math.tau / _ANGLES)
    half = np.array(size) / 2
    centre = np.array(point) + np.stack([np.sin(angle), -np.cos(angle)], axis=1) * (distance + half)
    return np.concatenate([centre - half, centre + half], axis=1)


def _free(boxes: Reals, taken: Reals, room: Box) -> Reals:
    """Return those of (n, 4) boxes that lie within the room and clear of all (m, 4) that are taken."""
    low, high = boxes[:, None, :2], boxes[:, None, 2:]
    meets = np.all((low < taken[:, 2:] + _GAP) & (taken[:, :2] < high + _GAP), axis=2).any(axis=1)
    inside = np.all((boxes[:, :2] >= (room.left, room.top)) & (boxes[:, 2:] <= (room.right, room.bottom)), axis=1)
    free: Reals = boxes[inside & ~meets]
    return free


def _under(boxes: Reals, lines: Reals) -> Reals:
    """Return how many points of the lines each of (n, 4) boxes covers."""
    x, y = lines[:, 0], lines[:, 1]
    left, top, right, bottom = (boxes + np.array([-0.3, -0.3, 0.3, 0.3])).T[:, :, None]
    covered = (x > left) & (x < right) & (y > top) & (y < bottom)
    return np.asarray(np.count_nonzero(covered, axis=1), dtype=np.float64)
