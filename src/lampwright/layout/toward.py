"""In which direction the strip goes on at every pixel."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.catenary import hang
from lampwright.layout.leg import leg_ends
from lampwright.layout.member import anchor_place, directions_along, sides_along
from lampwright.layout.model import CircuitLayout, SectionLayout
from lampwright.layout.spiral import strip_per_length, strip_radius
from lampwright.piece.model import FixedSection, SpanSection
from lampwright.piece.path import path_length

Reals = NDArray[np.float64]


def directions(circuit: CircuitLayout) -> Reals:
    """Return the (n_pixel, 3) directions in which the data goes on along the strip, of length 1."""
    pitch = 1.0 / circuit.circuit.strip.density.value
    each = [_of_section(section, pitch) for run in circuit.runs for section in run.sections]
    return np.concatenate([np.empty((0, 3)), *each])


def _of_section(laid: SectionLayout, pitch: float) -> Reals:
    distance = np.asarray((np.arange(laid.n_pixel) + 0.5) * pitch, dtype=np.float64)
    match laid.section:
        case FixedSection() as section if section.leg is not None:
            start, end = leg_ends(section)
            along = np.broadcast_to(end - start, (laid.n_pixel, 3))
            return _unit(-along if section.is_back else along)
        case FixedSection() as section:
            return _along_member(section, distance)
        case SpanSection() as section:
            return _along_span(section, distance)


def _along_member(section: FixedSection, distance: Reals) -> Reals:
    share = strip_per_length(section)
    usable = (path_length(section.member.shape) - section.bare_start - section.bare_end) * share
    along = section.bare_start + (usable - distance if section.is_back else distance) / share
    toward = directions_along(section.member, along)
    if section.spiral is not None:
        side = sides_along(section.member, along)
        angle = (math.tau / section.spiral * along)[:, None]
        around = np.cos(angle) * np.cross(toward, side) - np.sin(angle) * side
        toward = toward + strip_radius(section) * math.tau / section.spiral * around
    return _unit(-toward if section.is_back else toward)


def _along_span(section: SpanSection, distance: Reals) -> Reals:
    chord = anchor_place(section.end) - anchor_place(section.start)
    width = float(np.hypot(chord[0], chord[1]))
    curve = hang(width, float(chord[2]), section.sag)
    steep = curve.slope(distance / (1 + (section.hold.slack or 0.0)))
    level = np.broadcast_to(chord[:2] / width, (len(distance), 2))
    return _unit(np.concatenate([level, steep[:, None]], axis=1))


def _unit(vectors: Reals) -> Reals:
    return np.asarray(vectors / np.linalg.norm(vectors, axis=1, keepdims=True))
