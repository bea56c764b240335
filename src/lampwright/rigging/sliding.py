"""Whether what a member stands on slides over the ground before it tips."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lampwright.findings.model import Finding, Severity
from lampwright.piece.model import Member
from lampwright.piece.path import path_length
from lampwright.rigging.limits import SCREENING, Loading, Standing, by_kind
from lampwright.rigging.posts import TIPPING_SAFETY, n_leg
from lampwright.rigging.spans import DIRECTIONS, GRAVITY
from lampwright.rigging.wind import CYLINDER_DRAG, STRIP_THICKNESS, pressure
from lampwright.units import format_quantity

Reals = NDArray[np.float64]

WET_GRIP = 0.3
"""Friction of a base on wet ground, the least of the usual 0.3 to 0.5 (common practice, no source). [1]"""

SLIDING_SAFETY = TIPPING_SAFETY
"""Friction over push, the same as against tipping (from memory). [1]"""


def grip_mass(standing: Standing, gust: float) -> float:
    """Return the mass of base at each foot that does not slide in gusts of this speed [m/s]. [kg]

    The worst wind direction, with all spans and with any one of them gone; what the tube weighs and the spans pull down
    presses too. A hoop's two feet share alike.
    """
    member, tube = standing.member, standing.tube
    wide = tube.outside.value + STRIP_THICKNESS
    wind = pressure(gust) * CYLINDER_DRAG * wide * path_length(member.shape)
    blow = np.stack([np.cos(DIRECTIONS), np.sin(DIRECTIONS), np.zeros_like(DIRECTIONS)], axis=1)
    weight = np.array([0.0, 0.0, -tube.mass.value * path_length(member.shape) * GRAVITY])
    whole = wind * blow + weight + sum((tie.force for tie in standing.ties), np.zeros((len(DIRECTIONS), 3)))
    cases = np.stack([whole, *(whole - tie.force for tie in standing.ties)]) / n_leg(member)
    push, down = np.hypot(cases[..., 0], cases[..., 1]), -cases[..., 2]
    return max(0.0, float((press_needed(push) - down).max()) / GRAVITY)


def moving_pull(member: Member, arm: float) -> float:
    """Return the level pull at a height above the feet [m] that tips or slides a stated base, safety taken off. [N]

    Infinity where no base is stated. All feet stand on such bases; the spans' own weight is left out.
    """
    base, tube = member.support.base, member.support.tube
    if base is None:
        return math.inf
    own = 0.0 if tube is None else tube.mass.value * path_length(member.shape)
    weight = GRAVITY * (base.mass * n_leg(member) + own)
    edge = base.reach * math.cos(math.pi / base.legs)
    return min(weight * edge / (TIPPING_SAFETY * arm), WET_GRIP * weight / SLIDING_SAFETY)


def press_needed(push: Reals | float, grip: float = WET_GRIP) -> Reals:
    """Return the force that must press a base to the ground so that a push does not move it: ``1.5 H / mu``. [N]

    Source
    ------
    Coulomb's friction, any text on statics.
    """
    return np.asarray(SLIDING_SAFETY * np.asarray(push) / grip, dtype=np.float64)


def sliding_findings(loading: Loading) -> tuple[Finding, ...]:
    """Return RIGGING-009 for each kind of member that stands on a stated base, of the worst of its kind."""
    findings = []
    for alike in by_kind(loading):
        if alike[0].member.support.base is not None:
            findings.append(_slides(max(alike, key=lambda each: grip_mass(each, loading.gust)), loading.gust))
    return tuple(findings)


def holds_its_ground(loading: Loading) -> bool:
    """Return whether no stated base slides."""
    bases = [(each, each.member.support.base) for each in loading.standing]
    return all(base is None or grip_mass(each, loading.gust) <= base.mass for each, base in bases)


def _slides(standing: Standing, gust: float) -> Finding:
    base = standing.member.support.base
    assert base is not None
    needed = math.ceil(10 * grip_mass(standing, gust)) / 10
    is_light = needed > base.mass
    return Finding(
        "RIGGING-009",
        Severity.FAIL if is_light else Severity.PASS,
        standing.member.name,
        f"what keeps it from sliding on wet ground in gusts of {format_quantity(gust, 'speed')}",
        format_quantity(base.mass, "mass"),
        f"at least {format_quantity(needed, 'mass')} at each foot",
        1 - needed / base.mass,
        "a heavier base, or peg or tie it so that it can't slide and have that judged" if is_light else "",
        f"friction {WET_GRIP:g} (common practice, no source) of base, tube and what spans pull down, over "
        f"{SLIDING_SAFETY:g} × push; {SCREENING}",
    )
