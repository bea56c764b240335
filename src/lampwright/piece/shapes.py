"""Turn what an entry says of a member's shape into the shape itself, and report shapes that can't be."""

from __future__ import annotations

import math
from dataclasses import replace

from lampwright.piece.model import Arc, Bent, Hoop, Shape, Staff, Straight
from lampwright.piece.report import Report
from lampwright.piece.rounded import BendError, Point, rounded_line
from lampwright.piece.schema import AnyMemberEntry, ArcEntry, BentEntry, HoopEntry, StaffEntry, StraightEntry
from lampwright.piece.source import Path
from lampwright.units import Problem, format_quantity

_ARC_PAIRS = (("chord", "rise"), ("chord", "radius"), ("radius", "sweep"))


def read_shape(entry: AnyMemberEntry, path: Path, report: Report) -> Shape | None:
    """Return the shape of an entry, or ``None`` after reporting why there can't be one."""
    match entry:
        case HoopEntry():
            # A hoop that is too low still has its points; the layout doesn't get to see it.
            if entry.height < entry.width / 2:
                report.at_value((*path, "height"), _hoop_too_low(entry))
            return Hoop(entry.width, entry.height)
        case StraightEntry():
            return Straight(entry.length, entry.lean)
        case StaffEntry():
            return _staff(entry, path, report)
        case ArcEntry():
            return _arc(entry, path, report)
        case BentEntry():
            return _bent(entry, path, report)


def mirrored(shape: Shape) -> Shape:
    """Return the shape with its own y axis turned around."""
    match shape:
        case Arc():
            return replace(shape, lean=-shape.lean)
        case Bent():
            return replace(shape, points=tuple((x, -y, z) for x, y, z in shape.points))
        case _:
            return shape


def line_of(
    points: tuple[Point, ...], bend: float | tuple[float, ...], path: Path, report: Report
) -> tuple[float, ...] | None:
    """Return the radius of each corner, or ``None`` after reporting why the points can't be joined so."""
    n_corner = len(points) - 2
    radii = bend if isinstance(bend, tuple) else n_corner * (bend,)
    if len(radii) != n_corner:
        report.at_value((*path, "bend"), _bends_uneven(len(radii), n_corner))
        return None
    try:
        rounded_line(points, radii)
    except BendError as error:
        key = "points" if error.corner == 0 or all(radius == 0 for radius in radii) else "bend"
        do = "move the points apart" if key == "points" else "take a smaller radius, or move the points apart"
        summary = "this line can't be bent so" if error.corner else "this line has two points in one place"
        problem = Problem("PIECE-041", summary, error.found, error.allowed, do)
        report.at_value((*path, key), problem)
        return None
    return radii


def _staff(entry: StaffEntry, path: Path, report: Report) -> Shape | None:
    for key in ("base", "socket"):
        if getattr(entry, key) is not None:
            summary = f'"{key}" has no meaning here: a staff is carried'
            problem = Problem("PIECE-017", summary, f'"{key}"', f'"{key}" of a member that stands', f"delete {key}")
            report.at_key((*path, key), problem)
    if entry.grip > entry.length:
        length = format_quantity(entry.length, "length", 6)
        problem = Problem(
            "PIECE-007",
            "the hand is beyond the end of the staff",
            f"a grip {format_quantity(entry.grip, 'length', 6)} from the foot of a staff of {length}",
            f"a grip within the staff, up to {length}",
            "measure the grip from the lower end of the staff",
        )
        report.at_value((*path, "grip"), problem)
        return None
    return Staff(entry.length, entry.lean, entry.grip)


def _arc(entry: ArcEntry, path: Path, report: Report) -> Shape | None:
    given = tuple(key for key in ("chord", "rise", "radius", "sweep") if getattr(entry, key) is not None)
    if given not in _ARC_PAIRS:
        report.at_value(path, _arc_unclear(given))
        return None
    if entry.chord is not None and entry.rise is not None:
        return Arc(entry.chord, entry.rise, entry.lean)
    assert entry.radius is not None
    if entry.sweep is not None:
        half = entry.sweep / 2
        # A whole circle's feet are in one place, up to what the sine leaves of it.
        chord = 0.0 if entry.sweep > math.tau - 1e-9 else 2 * entry.radius * math.sin(half)
        return Arc(chord, entry.radius * (1 - math.cos(half)), entry.lean)
    assert entry.chord is not None
    if entry.chord > 2 * entry.radius:
        report.at_value((*path, "chord"), _chord_too_long(entry.chord, entry.radius))
        return None
    below = math.sqrt(entry.radius**2 - entry.chord**2 / 4)
    return Arc(entry.chord, entry.radius - below, entry.lean)


def _bent(entry: BentEntry, path: Path, report: Report) -> Shape | None:
    radii = line_of(entry.points, entry.bend, path, report)
    return None if radii is None else Bent(entry.points, radii)


def _hoop_too_low(entry: HoopEntry) -> Problem:
    # Rounded up to the centimetre, so that what is suggested does.
    least = format_quantity(math.ceil(entry.width * 50) / 100, "length", 6)
    return Problem(
        code="PIECE-020",
        summary="the hoop is lower than its half circle",
        found=f"height {format_quantity(entry.height, 'length')}, width {format_quantity(entry.width, 'length')}",
        allowed=f"a height of at least half the width, {least}",
        do=f'make it higher, such as height = "{least}", or narrower',
    )


def _arc_unclear(given: tuple[str, ...]) -> Problem:
    found = " and ".join(f'"{key}"' for key in given) or 'none of "chord", "rise", "radius" and "sweep"'
    return Problem(
        code="PIECE-040",
        summary="an arc takes two of its measures",
        found=found,
        allowed='"chord" and "rise", "chord" and "radius" (the flatter of the two), or "radius" and "sweep"',
        do='write such a pair, as chord = "3 m" and rise = "1 m"',
    )


def _chord_too_long(chord: float, radius: float) -> Problem:
    most = format_quantity(2 * radius, "length", 6)
    return Problem(
        code="PIECE-040",
        summary="no circle of this radius has such a chord",
        found=f"a chord of {format_quantity(chord, 'length', 6)}, a radius of {format_quantity(radius, 'length', 6)}",
        allowed=f"a chord up to twice the radius, {most}",
        do="make the radius larger or the chord shorter",
    )


def _bends_uneven(n_bend: int, n_corner: int) -> Problem:
    return Problem(
        code="PIECE-041",
        summary="there isn't one radius for each corner",
        found=f"{n_bend} for {n_corner} {'corner' if n_corner == 1 else 'corners'}",
        allowed="one length for all corners, or a list with one for each; the first and the last point are no corners",
        do='write bend = "15 cm", or as many lengths as there are corners',
    )
