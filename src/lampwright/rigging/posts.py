"""Members of tube that stand: bending at the foot, sway at the top, and what keeps them from tipping."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.member import feet_of, points_along
from lampwright.parts import Tube
from lampwright.piece.model import Base, Bent, Hoop, Member, Straight
from lampwright.piece.path import path_length
from lampwright.rigging.crooks import end_ways
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
    """A span's end on a member: its forces for each direction, at a place above the foot."""

    name: str
    height: float  # above the foot [m]
    force: Reals  # (n_direction, 3) [N]
    aside: tuple[float, float] = (0.0, 0.0)
    """How far over the ground from what it stands on: a foot, or the line between two. [m]"""

    @property
    def moment(self) -> Reals:
        """The (n_direction, 2) moments about the foot, each named by the direction in which it tips. [N m]"""
        return self.height * self.force[:, :2] - np.array(self.aside) * self.force[:, 2:]


def tube_section(tube: Tube) -> Section:
    """Return the section of a tube. Source: strength of materials, any text."""
    outside = tube.outside.value
    inside = outside - 2 * tube.wall.value
    area_moment = math.pi * (outside**4 - inside**4) / 64
    return Section(area_moment, 2 * area_moment / outside)


def n_leg(member: Member) -> int:
    """Return how many feet share the load."""
    return len(_feet(member))


def ties_of(member: Member, spans: Sequence[RiggedSpan], pulls: Pulls) -> tuple[Tie, ...]:
    """Return the spans' ends that hang on this member."""
    ties = []
    for index, span in enumerate(spans):
        name = span.section.name
        if span.section.start.member == member:
            ties.append(tie_at(name, member, span.start, pulls.at_start[:, index]))
        if span.section.end.member == member:
            ties.append(tie_at(name, member, span.end, pulls.at_end[:, index]))
    return tuple(ties)


def tie_at(name: str, member: Member, place: Reals, force: Reals) -> Tie:
    """Return what pulls on a member with a (n_direction, 3) force [N] at a place [m]."""
    feet = _feet(member)
    x, y = _aside(place[None, :2], feet)[0].tolist()
    return Tie(name, float(place[2] - feet[0, 2]), force, (x, y))


def _feet(member: Member) -> Reals:
    """Return the (1, 3) or (2, 3) places on which a member stands; feet in one place are one. [m]"""
    feet = feet_of(member.shape)
    if len(feet) == 2 and float(np.linalg.norm(feet[1] - feet[0])) < 1e-3:
        feet = feet[:1]
    cos, sin = math.cos(member.turn), math.sin(member.turn)
    turned = np.stack([feet[:, 0] * cos - feet[:, 1] * sin, feet[:, 0] * sin + feet[:, 1] * cos, feet[:, 2]], axis=1)
    return np.asarray(turned + np.array(member.position))


def _aside(places: Reals, feet: Reals) -> Reals:
    """Return how far (n, 2) places lie from the foot, or square to the line between two feet, over the ground. [m]

    What lies along that line is borne by one foot more and by the other less, and bends neither.
    """
    aside = places - feet[0, :2]
    if len(feet) == 2:
        along = feet[1, :2] - feet[0, :2]
        along = along / np.linalg.norm(along)
        aside = aside - np.outer(aside @ along, along)
    return aside


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
    own = wind * blow + _own_moment(member, tube)
    each = [tie.moment for tie in ties]
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
        case _:
            whole = path_length(member.shape)
            heights = points_along(member, _middles(whole))[:, 2] - _feet(member)[0, 2]
            return force * whole * float(np.abs(heights).mean())


def ballast(member: Member, tube: Tube, moment: float, base: Base) -> float:
    """Return the mass that keeps one foot's base from tipping, the tube's own taken off. [kg]

    ``W x >= 1.5 M`` about the edge between two legs, ``x = R cos(pi/n)``.
    """
    edge = base.reach * math.cos(math.pi / base.legs)
    own = tube.mass.value * path_length(member.shape) / n_leg(member)
    return max(0.0, TIPPING_SAFETY * moment / (GRAVITY * edge) - own)


def _own_moment(member: Member, tube: Tube) -> Reals:
    """Return the (2,) moment of a member's own weight about what it stands on, toward where it leans. [N m]"""
    whole = path_length(member.shape)
    middles = points_along(member, _middles(whole))[:, :2]
    return np.asarray(tube.mass.value * whole * GRAVITY * _aside(middles, _feet(member)).mean(axis=0), dtype=np.float64)


def _middles(length: float) -> Reals:
    """Return the middles of many short equal pieces of a path. [m]"""
    return np.asarray((np.arange(400) + 0.5) * (length / 400), dtype=np.float64)


def _sway(member: Member, tube: Tube, section: Section, ties: Sequence[Tie], speed: float) -> float:
    """Return the top's greatest deflection with all spans or without any one of them. [m]"""
    rigidity = tube.modulus.value * section.area_moment
    load = pressure(speed) * CYLINDER_DRAG * (tube.outside.value + STRIP_THICKNESS)
    if isinstance(member.shape, Bent) and n_leg(member) == 1:
        return _crook_sways(member, rigidity, load, ties)
    if not isinstance(member.shape, Straight):
        return math.nan
    length = member.shape.length
    blow = np.stack([np.cos(DIRECTIONS), np.sin(DIRECTIONS)], axis=1)
    each = []
    for tie in ties:
        a = min(length, tie.height / max(abs(math.cos(member.shape.lean)), 1e-9))
        each.append(tie.force[:, :2] * a**2 * (3 * length - a) / (6 * rigidity))
    whole = load * length**4 / (8 * rigidity) * blow + sum(each, np.zeros_like(blow))
    return max(float(np.linalg.norm(case, axis=1).max()) for case in (whole, *(whole - one for one in each)))


def _crook_sways(member: Member, rigidity: float, load: float, ties: Sequence[Tie]) -> float:
    """Return the greatest way of a crook's end from still air without spans, its own weight not counted. [m]"""
    foot = _feet(member)[0]
    wind = load * np.stack([np.cos(DIRECTIONS), np.sin(DIRECTIONS), np.zeros_like(DIRECTIONS)], axis=1)
    places = np.array([foot + np.array([*tie.aside, tie.height]) for tie in ties]).reshape(-1, 3)
    forces = np.array([tie.force for tie in ties]).reshape(-1, len(DIRECTIONS), 3)
    blown, pulled = end_ways(member, rigidity, wind, places, forces)
    whole = blown + pulled.sum(axis=0)
    return max(float(np.linalg.norm(case, axis=1).max()) for case in (whole, *(whole - one for one in pulled)))
