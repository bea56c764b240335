"""Spans as they are rigged, and what they pull in weight, wind, ice, cold and under a person's hand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.layout import Layout
from lampwright.layout.catenary import hang
from lampwright.layout.loaded import stretch, swing
from lampwright.layout.member import anchor_place
from lampwright.parts import Cord, find
from lampwright.piece.model import SpanSection
from lampwright.rigging.wind import CYLINDER_DRAG, STRIP_DRAG, STRIP_WIDTH, pressure

Reals = NDArray[np.float64]

GRAVITY = 9.80665  # standard gravity [m/s2]
RIGGED_AT = 293.15  # temperature at which the sag was set [K]
SHRINK = 1e-4  # of cord in the cold, from memory: nylon 0.8e-4, polyester 1.2e-4 [1/K]
WETTED = 0.033  # around a sleeve of 12 x 4.5 mm [m]
ICE = 917.0 * 0.001  # a film of 1 mm (common practice, no source) [kg/m2]
RAIN = 1000.0 * 0.0005  # a film of 0.5 mm (common practice, no source) [kg/m2]

DIRECTIONS = np.arange(16) * (2 * math.pi / 16)
"""Where the wind blows to, from the piece's x axis anticlockwise. [rad]"""


@dataclass(frozen=True)
class RiggedSpan:
    """One span with its carrier."""

    circuit: str
    section: SpanSection
    cord: Cord
    start: Reals  # (3,) [m]
    end: Reals  # (3,) [m]
    length: float  # of the carrier, unstretched [m]
    mass: float  # carrier and strip, dry [kg/m]

    @property
    def stiffness(self) -> float:
        """Tension over strain, as a straight line from nothing to break. [N]"""
        return self.cord.strength.value / self.cord.stretch.value


@dataclass(frozen=True)
class Pulls:
    """What spans pull, for each direction of the wind."""

    tension: Reals  # (n_direction, n_span) at the end that has the more [N]
    at_start: Reals  # (n_direction, n_span, 3) on the member at the start [N]
    at_end: Reals  # (n_direction, n_span, 3) [N]
    strain: Reals  # (n_direction, n_span) of the carrier over its unstretched length [1]


def rig_spans(layout: Layout) -> tuple[RiggedSpan, ...]:
    """Return every span, its carrier cut so that dry and in still air it has the sag that is stated."""
    return tuple(
        _rig(circuit.circuit.name, section.section, run.run.strip.mass.value)
        for circuit in layout.circuits
        for run in circuit.runs
        for section in run.sections
        if isinstance(section.section, SpanSection)
    )


def _rig(circuit: str, section: SpanSection, strip_mass: float) -> RiggedSpan:
    cord = section.hold.carrier or find(Cord, "nylon-550")
    start, end = anchor_place(section.start), anchor_place(section.end)
    mass = strip_mass + cord.mass.value
    curve = hang(float(np.hypot(*(end - start)[:2])), float(end[2] - start[2]), section.sag)
    length = float(curve.length)
    mean = float(curve.tension(np.linspace(0.0, length, 101), mass * GRAVITY).mean())
    return RiggedSpan(
        circuit, section, cord, start, end, length / (1 + mean * cord.stretch.value / cord.strength.value), mass
    )


def film_mass(coldest: float) -> float:
    """Return what ice or rain adds to each metre of strip: ice where it may freeze. [kg/m]"""
    return WETTED * (ICE if coldest < 273.15 else RAIN)


def span_pulls(spans: Sequence[RiggedSpan], speed: float, film: float, temperature: float) -> Pulls:
    """Return what the spans pull at this wind from each of :data:`DIRECTIONS`.

    Parameters
    ----------
    speed
        Of the gust. [m/s]
    film
        Ice or rain on the strip. [kg/m]
    temperature
        Of the cord: it is shorter in the cold. [K]

    Notes
    -----
    Only wind square to a span loads it, with the square of that part of its speed; the strip is taken to
    turn its broad side to the wind.
    """
    chord = np.array([span.end - span.start for span in spans]).reshape(-1, 3)
    width = np.hypot(chord[:, 0], chord[:, 1])
    along = chord[:, :2] / width[:, None]
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    blow = np.stack([np.cos(DIRECTIONS), np.sin(DIRECTIONS)], axis=1) @ across.T  # (n_direction, n_span)
    face = np.array([STRIP_DRAG * STRIP_WIDTH + CYLINDER_DRAG * span.cord.diameter.value for span in spans])
    wind = pressure(speed) * face * blow * np.abs(blow)
    weight = np.array([(span.mass + film) * GRAVITY for span in spans])
    length = np.array([span.length for span in spans]) * (1 - SHRINK * max(0.0, RIGGED_AT - temperature))
    stiffness = np.array([span.stiffness for span in spans])
    plane = swing(width, chord[:, 2], weight, wind)
    hung = stretch(plane.width, plane.rise, length, plane.load, stiffness)
    # Unit vectors of the plane in the piece's axes: along the load, and square to it toward the end.
    down = np.empty((*wind.shape, 3))
    down[..., :2] = wind[..., None] * across
    down[..., 2] = -weight
    down /= plane.load[..., None]
    level = chord + plane.rise[..., None] * down
    level /= np.linalg.norm(level, axis=-1, keepdims=True)
    inward = hung.pull[..., None] * level
    return Pulls(
        hung.tension,
        inward + hung.start_lift[..., None] * down,
        -inward + hung.end_lift[..., None] * down,
        hung.length / length - 1,
    )


def tugged_tension(span: RiggedSpan, tug: float) -> float:
    """Return the tension when a person pulls the middle straight down [N], own weight added. [N]

    The cord is two straight halves under the load, ``2 T sin(angle) = P`` with ``T`` from its stretch; the tension
    under its own weight is added in full, which is on the safe side.
    """
    half = float(np.linalg.norm(span.end - span.start)) / 2
    low, high = 0.0, 2 * span.length + half
    for _ in range(100):
        dip = (low + high) / 2
        reach = math.hypot(half, dip)
        tension = max(0.0, span.stiffness * (2 * reach / span.length - 1))
        if 2 * tension * dip / reach < tug:
            low = dip
        else:
            high = dip
    reach = math.hypot(half, high)
    own = float(span_pulls([span], 0.0, 0.0, RIGGED_AT).tension.max())
    return span.stiffness * (2 * reach / span.length - 1) + own
