"""How far the crown of a hoop or an arc moves out of its own plane: its tube bends and twists.

One half, from the crown to its foot, which is held fast. Across the crown the two halves hold one another by one
unknown, the couple X about the vertical, for there the tube may twist but not turn. The work of deformation

    U = integral of (bending² / 2 EI + torsion² / 2 GJ) ds,    GJ = EI / (1 + nu)

is least for it, and its derivative by a force at the crown is the crown's sway (Castigliano's theorems: S. Timoshenko,
Strength of Materials, part I, chapter 11, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lampwright.findings.model import Finding, Severity
from lampwright.layout.member import shape_points, sides_along
from lampwright.parts import Tube
from lampwright.piece.model import Arc, Hoop, Member
from lampwright.piece.path import path_length
from lampwright.rigging.limits import Loading, Standing, by_kind
from lampwright.rigging.posts import Tie, tube_section
from lampwright.rigging.spans import DIRECTIONS, GRAVITY
from lampwright.rigging.standing import MOST_SWAY
from lampwright.rigging.wind import CYLINDER_DRAG, STRIP_THICKNESS, pressure
from lampwright.units import format_quantity

Reals = NDArray[np.float64]

LATERAL = 0.3
"""Poisson's ratio of steel; aluminium has 0.33, 2 % more twist (from memory). [1]"""

_PIECES = 400  # of one half


def crown_sway(shape: Hoop | Arc, rigidity: float, load: float, pull: Reals) -> Reals:
    """Return how far the crown moves square to the hoop's plane.

    Parameters
    ----------
    rigidity
        ``EI`` of the tube. [N m2]
    load
        Along all of the tube, square to the plane. [N/m]
    pull : (n,) float64
        At the crown, the same way. [N]

    Returns
    -------
    (n,) float64
        Both feet held fast. [m]
    """
    step, place, ahead = _half(shape)
    square = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1)
    # A force f square to the plane at (x, z) makes the couple (-f dz, f dx) at a section dx, dz from it.
    of_crown = np.stack([-(place[0, 1] - place[:, 1]), place[0, 0] - place[:, 0]], axis=1)
    count = np.arange(len(place))[:, None] + 0.5
    before = np.cumsum(place, axis=0) - place / 2 - count * place
    of_load = load * step * np.stack([-before[:, 1], before[:, 0]], axis=1)
    of_couple = np.tile([0.0, 1.0], (len(place), 1))

    def work(one: Reals, other: Reals) -> float:
        bending = np.sum(one * square, axis=1) @ np.sum(other * square, axis=1)
        torsion = np.sum(one * ahead, axis=1) @ np.sum(other * ahead, axis=1) * (1 + LATERAL)
        return float(bending + torsion) * step / rigidity

    held = work(of_couple, of_couple)

    def sway(couple: Reals) -> float:
        """Return the crown's way under a couple along the tube, the unknown across the crown chosen."""
        return work(of_crown, couple) - work(of_crown, of_couple) * work(of_couple, couple) / held

    return np.asarray(sway(of_load) + np.asarray(pull) / 2 * sway(of_crown), dtype=np.float64)


def hoop_sway(member: Member, tube: Tube, ties: Sequence[Tie], speed: float) -> float:
    """Return the crown's greatest sway in gusts of this speed [m/s], with all spans or without any one of them. [m]

    Wind blows square to the plane, at its worst; spans pull on the crown; a leaning arc's own weight bends it too.
    """
    shape = member.shape
    assert isinstance(shape, Hoop | Arc)
    rigidity = tube.modulus.value * tube_section(tube).area_moment
    load = pressure(speed) * CYLINDER_DRAG * (tube.outside.value + STRIP_THICKNESS)
    aside = sides_along(member, np.array([path_length(shape) / 2]))[0]
    pulls = [tie.force @ aside for tie in ties if tie.height > 0]
    whole = sum(pulls, np.zeros(len(DIRECTIONS)))
    blow = np.stack([np.cos(DIRECTIONS), np.sin(DIRECTIONS)], axis=1) @ aside[:2]
    weight = -tube.mass.value * GRAVITY * float(aside[2])
    of_load = float(crown_sway(shape, rigidity, 1.0, np.zeros(1))[0])
    of_newton = float(crown_sway(shape, rigidity, 0.0, np.ones(1))[0])
    own = of_load * (load * blow + weight)
    cases = [own + of_newton * case for case in (whole, *(whole - one for one in pulls))]
    return max(float(np.abs(case).max()) for case in cases)


def _half(shape: Hoop | Arc) -> tuple[float, Reals, Reals]:
    """Return a step's length, and the (n, 2) middles and directions of the steps from the crown to the right foot.

    In the plane of the shape, which may lean.
    """
    upright = replace(shape, lean=0.0) if isinstance(shape, Arc) else shape
    half = path_length(shape) / 2
    ends = shape_points(upright, half + np.linspace(0.0, half, _PIECES + 1))[:, [0, 2]]
    ahead = np.diff(ends, axis=0)
    return half / _PIECES, (ends[:-1] + ends[1:]) / 2, ahead / np.hypot(*ahead.T)[:, None]


def hoop_findings(loading: Loading) -> tuple[Finding, ...]:
    """Return RIGGING-005 for each kind of hoop and arc, of the one whose crown sways most."""
    hoops = [alike for alike in by_kind(loading) if isinstance(alike[0].member.shape, Hoop | Arc)]
    return tuple(_sways(alike, loading.gust) for alike in hoops)


def _sways(alike: Sequence[Standing], gust: float) -> Finding:
    sways = {each.member.name: hoop_sway(each.member, each.tube, each.ties, gust) for each in alike}
    worst = max(sways, key=lambda name: sways[name])
    shape = alike[0].member.shape
    assert isinstance(shape, Hoop | Arc)
    most = MOST_SWAY * (shape.height if isinstance(shape, Hoop) else shape.rise)
    is_over = sways[worst] > most
    return Finding(
        "RIGGING-005",
        Severity.WARN if is_over else Severity.PASS,
        worst,
        f"sway of the crown out of its own plane in gusts of {format_quantity(gust, 'speed')}",
        format_quantity(sways[worst], "length"),
        f"{format_quantity(most, 'length')}, a twentieth of its height",
        1 - sways[worst] / most,
        "stouter tube, or stays from the crown; the spans sag more when hoops give" if is_over else "",
        "bending and twist of bent tube by Castigliano, feet held fast; worst of 16 winds and of any one span gone; "
        "the limit is common practice, no source",
    )
