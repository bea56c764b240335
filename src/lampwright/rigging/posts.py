"""Members of tube that stand: bending at the foot, sway at the top, and what keeps them from tipping."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.member import path_length
from lampwright.parts import Tube
from lampwright.piece.model import Base, Hoop, Member, Straight
from lampwright.rigging.spans import DIRECTIONS, GRAVITY, Pulls, RiggedSpan
from lampwright.rigging.wind import CYLINDER_DRAG, STRIP_THICKNESS, pressure

Reals = NDArray[np.float64]

TIPPING_SAFETY = 1.5  # standing moment over tipping moment, from memory [1]


@dataclass(frozen=True)
class Section:
    """A round tube's cross-section: ``I = pi (D⁴ - d⁴)/64``, ``S = 2 I / D``."""

    area_moment: float  # [m4]
    modulus: float  # [m3]


@dataclass(frozen=True)
class Burden:
    """What a member bears in its worst moment; one leg of a hoop bears half."""

    moment: float  # about the foot of one leg [N m]
    stress: float  # in the tube at the foot [Pa]
    sway: float  # of the top; nan for a hoop, whose crown's sway is worked out in ``hoops`` [m]
    gone: str
    """The span whose loss makes it worst, or nothing."""


@dataclass(frozen=True)
class Tie:
    """A span's end on a member: its forces for each direction, at a height above the foot."""

    name: str
    height: float  # [m]
    force: Reals  # (n_direction, 3) [N]


def tube_section(tube: Tube) -> Section:
    """Return the section of a tube. Source: strength of materials, any text."""
    outside = tube.outside.value
    inside = outside - 2 * tube.wall.value
    area_moment = math.pi * (outside**4 - inside**4) / 64
    return Section(area_moment, 2 * area_moment / outside)


def n_leg(member: Member) -> int:
    """Return how many feet share the load."""
    return 2 if isinstance(member.shape, Hoop) else 1


def ties_of(member: Member, spans: Sequence[RiggedSpan], pulls: Pulls) -> tuple[Tie, ...]:
    """Return the spans' ends that hang on this member."""
    ties = []
    foot = member.position[2]
    for index, span in enumerate(spans):
        if span.section.start.member == member:
            ties.append(Tie(span.section.name, float(span.start[2]) - foot, pulls.at_start[:, index]))
        if span.section.end.member == member:
            ties.append(Tie(span.section.name, float(span.end[2]) - foot, pulls.at_end[:, index]))
    return tuple(ties)


def burden_of(member: Member, tube: Tube, ties: Sequence[Tie], speed: float) -> Burden:
    """Return the worst burden over all wind directions, with all spans and with any one of them gone.

    Parameters
    ----------
    ties
        The spans' ends on this member, solved for the same wind.
    speed
        Of the gust. [m/s]

    Notes
    -----
    The member is a cantilever from its foot. Wind on the tube acts square to it from everywhere, over its whole
    length. A hoop's feet share alike what pushes it out of its own plane, and in its plane bear less than that.

    Source
    ------
    AISC Steel Construction Manual, table 3-23, cantilevers: end load, uniform load, load at any point (from memory).
    """
    section = tube_section(tube)
    share = 1 / n_leg(member)
    wind = wind_moment(member, tube, speed)
    blow = np.stack([np.cos(DIRECTIONS), np.sin(DIRECTIONS)], axis=1)
    own = wind * blow + _lean_moment(member, tube)
    each = [tie.height * tie.force[:, :2] for tie in ties]
    whole = own + sum(each, np.zeros_like(own))
    cases = {"": whole} | {tie.name: whole - moment for tie, moment in zip(ties, each, strict=True)}
    worst = {name: float(np.linalg.norm(moments, axis=1).max()) for name, moments in cases.items()}
    gone = max(worst, key=lambda name: worst[name])
    moment = share * worst[gone]
    return Burden(moment, moment / section.modulus, _sway(member, tube, section, ties, speed), gone)


def wind_moment(member: Member, tube: Tube, speed: float) -> float:
    """Return the moment about the ground of wind on a whole member. [N m]"""
    force = pressure(speed) * CYLINDER_DRAG * (tube.outside.value + STRIP_THICKNESS)
    match member.shape:
        case Straight(length=length, lean=lean):
            return force * length * abs(length * math.cos(lean)) / 2
        case Hoop(width=width, height=height):
            radius = width / 2
            leg = height - radius
            return force * (2 * leg * leg / 2 + math.pi * radius * (leg + 2 * radius / math.pi))


def ballast(member: Member, tube: Tube, moment: float, base: Base) -> float:
    """Return the mass that keeps one foot's base from tipping, the tube's own taken off. [kg]

    ``W x >= 1.5 M`` about the edge between two legs, ``x = R cos(pi/n)``.
    """
    edge = base.reach * math.cos(math.pi / base.legs)
    own = tube.mass.value * path_length(member.shape) / n_leg(member)
    return max(0.0, TIPPING_SAFETY * moment / (GRAVITY * edge) - own)


def _lean_moment(member: Member, tube: Tube) -> Reals:
    """Return the (2,) moment of a leaning member's own weight, toward its lean. [N m]"""
    if not isinstance(member.shape, Straight):
        return np.zeros(2)
    length, lean = member.shape.length, member.shape.lean
    moment = tube.mass.value * length * GRAVITY * length / 2 * math.sin(lean)
    return moment * np.array([math.cos(member.turn), math.sin(member.turn)])


def _sway(member: Member, tube: Tube, section: Section, ties: Sequence[Tie], speed: float) -> float:
    """Return the top's greatest deflection with all spans or without any one of them. [m]"""
    if not isinstance(member.shape, Straight):
        return math.nan
    length = member.shape.length
    rigidity = tube.modulus.value * section.area_moment
    load = pressure(speed) * CYLINDER_DRAG * (tube.outside.value + STRIP_THICKNESS)
    blow = np.stack([np.cos(DIRECTIONS), np.sin(DIRECTIONS)], axis=1)
    each = []
    for tie in ties:
        a = min(length, tie.height / max(abs(math.cos(member.shape.lean)), 1e-9))
        each.append(tie.force[:, :2] * a**2 * (3 * length - a) / (6 * rigidity))
    whole = load * length**4 / (8 * rigidity) * blow + sum(each, np.zeros_like(blow))
    return max(float(np.linalg.norm(case, axis=1).max()) for case in (whole, *(whole - one for one in each)))
