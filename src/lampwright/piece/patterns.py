"""Where the members of a pattern stand, which way each is turned, and who is whose neighbour."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.piece.model import Arc, Bent, Hoop, Shape
from lampwright.piece.report import Report
from lampwright.piece.rounded import rounded_line
from lampwright.piece.schema import (
    MOST_COPIES,
    AnyMemberEntry,
    GridEntry,
    MirrorEntry,
    PathEntry,
    RingEntry,
    RowEntry,
)
from lampwright.piece.shapes import line_of, mirrored
from lampwright.piece.source import Path
from lampwright.units import Problem, format_quantity

_Position = tuple[float, float, float]


@dataclass(frozen=True)
class Spot:
    """One place of a pattern."""

    position: _Position  # [m]
    turn: float  # [rad]
    shape: Shape


@dataclass(frozen=True)
class Pattern:
    """The places in their order; ``in_row`` of them are neighbours, and the first follows the last in a ring."""

    spots: tuple[Spot, ...]
    in_row: int
    is_ring: bool = False


def read_pattern(entry: AnyMemberEntry, shape: Shape, path: Path, report: Report) -> Pattern | None:
    """Return the places of an entry's members, or ``None`` after reporting why there are none."""
    at = entry.at
    match entry.repeat:
        case None:
            return Pattern((Spot(at, entry.turn, shape),), 1)
        case RowEntry(count=count, step=step):
            return _evenly(count, lambda n: Spot(_moved(at, step, n), entry.turn, shape))
        case RingEntry() as ring:
            return _ring(ring, at, entry.turn, shape)
        case GridEntry(count=(across, deep), step=(step_x, step_y)):
            spots = [
                Spot((at[0] + x * step_x, at[1] + y * step_y, at[2]), entry.turn, shape)
                for y in range(deep)
                for x in range(across)
            ]
            # Neighbours and ends are those along x, within one row of the grid.
            return Pattern(tuple(spots), across)
        case PathEntry() as along:
            return _along(along, at, entry.turn, shape, (*path, "repeat"), report)
        case MirrorEntry() as mirror:
            return _mirrored(mirror, Spot(at, entry.turn, shape))


def _evenly(count: int, spot: Callable[[int], Spot]) -> Pattern:
    return Pattern(tuple(spot(index) for index in range(count)), count)


def _moved(at: _Position, step: _Position, times: int) -> _Position:
    return at[0] + times * step[0], at[1] + times * step[1], at[2] + times * step[2]


def _ring(ring: RingEntry, at: _Position, turn: float, shape: Shape) -> Pattern:
    # A post faces where it leans, along its own x axis; what stands on two feet faces square to its own plane,
    # so that its left foot is on the left for someone who looks at the ring from outside.
    faces = math.pi / 2 if isinstance(shape, Hoop | Arc | Bent) else 0.0
    spots = []
    for index in range(ring.count):
        angle = math.tau * index / ring.count
        place = (at[0] + ring.radius * math.cos(angle), at[1] + ring.radius * math.sin(angle), at[2])
        spots.append(Spot(place, turn + (angle + faces), shape))
    return Pattern(tuple(spots), ring.count, is_ring=ring.count > 1)


def _along(entry: PathEntry, at: _Position, turn: float, shape: Shape, path: Path, report: Report) -> Pattern | None:
    """Place members along a line, each with its own y axis along it."""
    radii = line_of(entry.points, entry.bend, path, report)
    if radii is None:
        return None
    line = rounded_line(entry.points, radii)
    distances = _distances(entry, line.length, path, report)
    if distances is None:
        return None
    places, directions = line.points(distances), line.directions(distances)
    spots = []
    for place, toward in zip(places.tolist(), directions.tolist(), strict=True):
        level = math.atan2(toward[1], toward[0]) - math.pi / 2 if math.hypot(*toward[:2]) > 1e-9 else 0.0
        spots.append(Spot((at[0] + place[0], at[1] + place[1], at[2] + place[2]), turn + level, shape))
    return Pattern(tuple(spots), len(spots))


def _distances(entry: PathEntry, length: float, path: Path, report: Report) -> NDArray[np.float64] | None:
    if (entry.count is None) == (entry.spacing is None):
        report.at_value(path, _count_or_spacing(entry.count is None))
        return None
    if entry.count is not None:
        return np.linspace(0.0, length, entry.count, dtype=np.float64)
    assert entry.spacing is not None
    count = math.floor(length / entry.spacing + 1e-9) + 1
    if count > MOST_COPIES:
        report.at_value((*path, "spacing"), _too_close(entry.spacing, length, count))
        return None
    return np.arange(count, dtype=np.float64) * entry.spacing


def _mirrored(mirror: MirrorEntry, spot: Spot) -> Pattern:
    x, y, z = spot.position
    if mirror.across == "x":
        other = Spot((2 * mirror.plane - x, y, z), math.pi - spot.turn, mirrored(spot.shape))
    else:
        other = Spot((x, 2 * mirror.plane - y, z), -spot.turn, mirrored(spot.shape))
    return Pattern((spot, other), 2)


def _count_or_spacing(is_neither: bool) -> Problem:
    return Problem(
        code="PIECE-042",
        summary="it is unclear how many stand along this path",
        found='neither "count" nor "spacing"' if is_neither else 'both "count" and "spacing"',
        allowed='either count = 5, evenly from end to end, or spacing = "1.5 m" from the first point on',
        do="give one of the two" if is_neither else "delete one of the two",
    )


def _too_close(spacing: float, length: float, count: int) -> Problem:
    least = format_quantity(math.ceil(1000 * length / (MOST_COPIES - 1)) / 1000, "length", 6)
    return Problem(
        code="PIECE-007",
        summary="these are too many members",
        found=f"{count} members {format_quantity(spacing, 'length')} apart on {format_quantity(length, 'length')}",
        allowed=f"up to {MOST_COPIES} members in one pattern",
        do=f'space them further apart, such as spacing = "{least}"',
    )
