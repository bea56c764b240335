"""What the page draws: members, spans, pixels and the whole show, as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lampwright.layout import CircuitLayout
from lampwright.layout.member import anchor_place, points_along
from lampwright.look.js import write_module
from lampwright.look.program import Program
from lampwright.piece.model import FixedSection, Member, Piece, SpanSection
from lampwright.piece.path import path_length
from lampwright.show import CircuitShow
from lampwright.units import format_quantity

OUTLINE_STEP = 0.05
"""Distance between the points by which a member is drawn. [m]"""

STRAIGHT = 0.002
"""How far a member may lie beside the straight lines by which the page draws it, at most. [m]"""


def scene_of(piece: Piece, shows: Sequence[CircuitShow]) -> dict[str, Any]:
    """Return everything the page needs to draw the piece at any frame, ready for JSON.

    Lengths are in metres, z up; frames count from power-on as in :mod:`lampwright.show.model`;
    ``looks`` is the text of an ES module with one function for each program, as
    :func:`lampwright.look.js.write_module` gives it.
    """
    programs = _programs(shows)
    functions = {program: f"look_{number}" for number, program in enumerate(programs)}
    return {
        "name": piece.brief.name,
        "place": piece.brief.place,
        "date": piece.brief.date.isoformat(),
        "standby": format_quantity(piece.brief.standby, "time"),
        "frameMs": shows[0].frame_ms,
        "standbyFrames": shows[0].standby_frames,
        "passFrames": shows[0].pass_frames,
        "ending": shows[0].ending.value,
        "brightness": piece.show.brightness,
        "cues": [
            {
                "look": cue.look,
                "title": timed.program.look.title.rstrip("."),
                "start": timed.start,
                "length": timed.length,
            }
            for cue, timed in zip(piece.show.cues, shows[0].cues, strict=True)
        ],
        "members": [{"name": member.name, "points": bends_of(outline(member))} for member in piece.members],
        "circuits": [_circuit(show, functions) for show in shows],
        "looks": write_module([program.plan(name) for program, name in functions.items()]),
    }


def outline(member: Member) -> list[float]:
    """Return points along a member's axis, x y z one after the other. [m]"""
    length = path_length(member.shape)
    n_point = max(2, round(length / OUTLINE_STEP) + 1)
    return _flat(points_along(member, np.linspace(0.0, length, n_point)))


def bends_of(points: list[float]) -> list[float]:
    """Return those of an outline's points from which straight lines pass all others within ``STRAIGHT``.

    Source
    ------
    Douglas and Peucker, Algorithms for the reduction of the number of points required to represent a digitized line or
    its caricature, Cartographica 10 (1973) 112-122 (from memory).
    """
    place = np.array(points).reshape(-1, 3)
    kept, open_ends = {0, len(place) - 1}, [(0, len(place) - 1)]
    while open_ends:
        first, last = open_ends.pop()
        if last - first < 2:
            continue
        off = place[first + 1 : last] - place[first]
        way = place[last] - place[first]
        along = np.clip(off @ way / max(float(way @ way), 1e-12), 0.0, 1.0)
        far = np.linalg.norm(off - along[:, None] * way, axis=1)
        if far.max() > STRAIGHT:
            middle = first + 1 + int(far.argmax())
            kept.add(middle)
            open_ends += [(first, middle), (middle, last)]
    return _flat(place[sorted(kept)])


def _title(program: Program) -> str:
    return program.look.title.rstrip(".")


def _programs(shows: Sequence[CircuitShow]) -> list[Program]:
    """Return every program of the piece once, in the order in which they are met."""
    return list(dict.fromkeys(cue.program for show in shows for cue in show.cues))


def _circuit(show: CircuitShow, functions: dict[Program, str]) -> dict[str, Any]:
    layout = show.layout
    return {
        "name": layout.circuit.name,
        "pixels": _flat(layout.xyz),
        "spans": hanging_lines(layout),
        "runs": [{"name": run.run.name, "first": run.first, "count": run.n_pixel} for run in layout.runs],
        "sections": [
            {"name": section.section.name, "first": section.first, "count": section.n_pixel}
            for run in layout.runs
            for section in run.sections
        ],
        "pitch": 1 / layout.circuit.strip.density.value,
        "indicator": {"pixels": show.indicator.pixels, "code": show.indicator.code},
        "limiter": {"weights": show.limiter.weights, "cap": show.limiter.cap},
        "cues": [
            {"look": functions[cue.program], "start": cue.start, "length": cue.length, "fade": cue.fade}
            for cue in show.cues
        ],
    }


def hanging_lines(layout: CircuitLayout) -> list[list[float]]:
    """Return the line of each hanging section, from anchor to anchor over its pixels. [m]"""
    lines = []
    for run in layout.runs:
        for section in run.sections:
            match section.section:
                case SpanSection(start=start, end=end):
                    own = layout.xyz[section.first : section.first + section.n_pixel]
                    lines.append(_flat(np.vstack([anchor_place(start), own, anchor_place(end)])))
                case FixedSection():
                    pass
    return lines


def _flat(points: NDArray[np.float64]) -> list[float]:
    """Return coordinates one after the other, to the millimetre."""
    return [float(value) for value in np.round(points, 3).reshape(-1)]
