"""Lay the piece out: every section's pixels, one after the other, in metres."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.catenary import hang
from lampwright.layout.leg import leg_ends
from lampwright.layout.member import anchor_place, points_along
from lampwright.layout.model import CircuitLayout, Layout, RunLayout, SectionLayout
from lampwright.layout.spiral import points_around, strip_per_length
from lampwright.piece.model import Circuit, FixedSection, Hoop, Piece, Run, Section, SpanSection
from lampwright.piece.path import path_length
from lampwright.units.errors import MakerError, Problem

_COUNT_SLACK = 1e-9
"""Pixels: a length that is a whole number of pitches up to rounding keeps its last pixel."""


@dataclass(frozen=True)
class _Placed:
    """A section's length of usable path [m] and the (n_pixel, 3) places of its pixels [m]."""

    usable: float
    xyz: NDArray[np.float64]


def lay_out(piece: Piece) -> Layout:
    """Return the place of every pixel of every circuit.

    A section carries as many whole pixels as its usable length holds; pixel ``i`` sits
    ``(i + 0.5)`` pitches from the section's start. The strip goes on from one section of a run
    to the next, so distance along the run counts pixels times pitch.

    Raises
    ------
    MakerError
        Sections that can't be laid out, all of them at once.
    """
    problems: list[Problem] = []
    circuits = tuple(_lay_out_circuit(circuit, problems) for circuit in piece.circuits)
    if problems:
        raise MakerError(problems)
    return Layout(piece, circuits)


def _lay_out_circuit(circuit: Circuit, problems: list[Problem]) -> CircuitLayout:
    runs: list[RunLayout] = []
    xyz: list[NDArray[np.float64]] = [np.empty((0, 3))]
    along: list[NDArray[np.float64]] = [np.empty(0)]
    first = 0
    for run in circuit.runs:
        pitch = 1.0 / run.strip.density.value
        sections: list[SectionLayout] = []
        start = first
        for section in run.sections:
            placed = _place_section(section, circuit, run, problems)
            n_pixel = len(placed.xyz)
            sections.append(SectionLayout(section, first, n_pixel, n_pixel * pitch, placed.usable))
            xyz.append(placed.xyz)
            first += n_pixel
        n_run = first - start
        runs.append(RunLayout(run, start, n_run, tuple(sections)))
        along.append(np.asarray((np.arange(n_run) + 0.5) * pitch, dtype=np.float64))
    return CircuitLayout(circuit, tuple(runs), np.concatenate(xyz), np.concatenate(along))


def _place_section(section: Section, circuit: Circuit, run: Run, problems: list[Problem]) -> _Placed:
    """Place one section's pixels; where it can't be, note the problem and return no pixels."""
    where = f'section "{section.name}" of run "{run.name}", circuit "{circuit.name}"'
    density = run.strip.density.value
    problem: Problem | None
    match section:
        case FixedSection():
            placed, problem = _place_fixed(section, density, where)
        case SpanSection():
            placed, problem = _place_span(section, density, where)
    if problem is None and len(placed.xyz) == 0:
        problem = Problem(
            "LAYOUT-001",
            f"no room for a pixel in {where}",
            f"{_metres(placed.usable)} of usable length",
            f"at least one pitch of the strip, {_metres(1 / density)}",
            "shorten the bare ends, lengthen the member or choose a denser strip",
        )
    if problem is not None:
        problems.append(replace(problem, place=section.place))
    return placed


def _place_fixed(section: FixedSection, density: float, where: str) -> tuple[_Placed, Problem | None]:
    shape = section.member.shape
    if isinstance(shape, Hoop) and shape.height < shape.width / 2:
        return _nothing(0.0), _hoop_too_low(section.member.name, shape, where)
    if section.leg is not None:
        return _place_leg(section, density), None
    bare = path_length(shape) - section.bare_start - section.bare_end
    usable = bare * strip_per_length(section)
    distance = _distances(usable, density)
    if section.is_back:
        distance = usable - distance
    along = section.bare_start + distance / strip_per_length(section)
    if section.spiral is not None:
        return _Placed(usable, points_around(section, along)), None
    return _Placed(usable, points_along(section.member, along)), None


def _place_leg(section: FixedSection, density: float) -> _Placed:
    start, end = leg_ends(section)[::-1] if section.is_back else leg_ends(section)
    usable = float(np.linalg.norm(end - start))
    toward = (end - start) / max(usable, 1e-12)
    return _Placed(usable, np.asarray(start + _distances(usable, density)[:, None] * toward))


def _place_span(section: SpanSection, density: float, where: str) -> tuple[_Placed, Problem | None]:
    for anchor in (section.start, section.end):
        shape = anchor.member.shape
        if isinstance(shape, Hoop) and shape.height < shape.width / 2:
            return _nothing(0.0), _hoop_too_low(anchor.member.name, shape, where)
    start, end = anchor_place(section.start), anchor_place(section.end)
    level = end[:2] - start[:2]
    width = float(np.hypot(*level))
    if width < 1e-6:
        return _nothing(0.0), Problem(
            "LAYOUT-004",
            f"the ends of {where} stand one above the other",
            f"{_anchor_name(section, 'start')} and {_anchor_name(section, 'end')}, "
            f"{_metres(width)} apart over the ground",
            "two points that are apart over the ground",
            "let the span end at another point, or fasten the strip to a straight member",
        )
    if section.sag <= 0:
        return _nothing(width), Problem(
            "LAYOUT-002",
            f"{where} does not hang",
            f"a sag of {_metres(section.sag)}",
            "a sag above zero",
            f'write sag = "{_sag_to_start_with(width)}" or measure it on the cord: '
            "a cord pulled straight pulls its posts over",
        )
    curve = hang(width, float(end[2] - start[2]), section.sag)
    length = float(curve.length)
    # The strip is longer than the carrier by its slack, and is tied to it in small even bellies.
    stretched = 1 + (section.hold.slack or 0.0)
    x, height = curve.points(_distances(length * stretched, density) / stretched)
    xyz = start + np.stack([level[0] / width * x, level[1] / width * x, height], axis=1)
    lowest = float(xyz[:, 2].min(initial=math.inf))
    if lowest < 0:
        return _Placed(length * stretched, xyz), Problem(
            "LAYOUT-005",
            f"{where} hangs into the ground",
            f"its lowest pixel at {_metres(lowest)} with a sag of {_metres(section.sag)}",
            "every pixel above the ground; over a path, people need head room too",
            "give it less sag or higher ends",
        )
    return _Placed(length * stretched, xyz), None


def _distances(usable: float, density: float) -> NDArray[np.float64]:
    """Return the distances of a section's pixels from its start. [m]"""
    n_pixel = max(0, math.floor(usable * density + _COUNT_SLACK))
    return np.asarray((np.arange(n_pixel) + 0.5) / density, dtype=np.float64)


def _nothing(usable: float) -> _Placed:
    return _Placed(usable, np.empty((0, 3)))


def _hoop_too_low(name: str, shape: Hoop, where: str) -> Problem:
    return Problem(
        "LAYOUT-003",
        f'hoop "{name}" is lower than its half circle, so {where} has no place',
        f"{_metres(shape.height)} high and {_metres(shape.width)} wide",
        "a height of at least half the width",
        f'write height = "{_metres(shape.width / 2)}" or more, or make it narrower',
    )


def _anchor_name(section: SpanSection, side: str) -> str:
    anchor = section.start if side == "start" else section.end
    return f'"{anchor.member.name} {anchor.point}"'


def _sag_to_start_with(width: float) -> str:
    """One twentieth of the width: a gentle curve whose pull stays near 2.5 times the weight."""
    return f"{width / 20:.2f} m" if width >= 0.2 else "1 cm"


def _metres(length: float) -> str:
    """Return a length for a message, to the millimetre."""
    return f"{round(length, 3):g} m"
