"""How far the crown of a hoop moves out of its own plane: its tube bends and twists.

One half, from the crown to its foot, which is held fast. Across the crown the two halves hold one another by one
unknown, the couple X about the vertical, for there the tube may twist but not turn. The work of deformation

    U = integral of (bending² / 2 EI + torsion² / 2 GJ) ds,    GJ = EI / (1 + nu)

is least for it, and its derivative by a force at the crown is the crown's sway (Castigliano's theorems: S. Timoshenko,
Strength of Materials, part I, chapter 11, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lampwright.findings.model import Finding, Severity
from lampwright.parts import Tube
from lampwright.piece.model import Hoop, Member
from lampwright.rigging.limits import Loading, Standing, by_kind
from lampwright.rigging.posts import Tie, tube_section
from lampwright.rigging.spans import DIRECTIONS
from lampwright.rigging.standing import MOST_SWAY
from lampwright.rigging.wind import CYLINDER_DRAG, STRIP_THICKNESS, pressure
from lampwright.units import format_quantity

Reals = NDArray[np.float64]

LATERAL = 0.3
"""Poisson's ratio of steel; aluminium has 0.33, 2 % more twist (from memory). [1]"""

_PIECES = 400  # of one half


def crown_sway(shape: Hoop, rigidity: float, load: float, pull: Reals) -> Reals:
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

    Wind blows square to the hoop, at its worst; spans pull on the crown.
    """
    assert isinstance(member.shape, Hoop)
    rigidity = tube.modulus.value * tube_section(tube).area_moment
    load = pressure(speed) * CYLINDER_DRAG * (tube.outside.value + STRIP_THICKNESS)
    aside = np.array([-math.sin(member.turn), math.cos(member.turn)])
    pulls = [tie.force[:, :2] @ aside for tie in ties if tie.height > 0]
    whole = sum(pulls, np.zeros(len(DIRECTIONS)))
    blow = np.stack([np.cos(DIRECTIONS), np.sin(DIRECTIONS)], axis=1) @ aside
    of_wind = float(crown_sway(member.shape, rigidity, load, np.zeros(1))[0]) * blow
    of_newton = float(crown_sway(member.shape, rigidity, 0.0, np.ones(1))[0])
    cases = [of_wind + of_newton * case for case in (whole, *(whole - one for one in pulls))]
    return max(float(np.abs(case).max()) for case in cases)


def _half(shape: Hoop) -> tuple[float, Reals, Reals]:
    """Return a step's length, and the (n, 2) middles and directions of the steps from the crown to the right foot."""
    radius = shape.width / 2
    leg = shape.height - radius
    arc = math.pi / 2 * radius
    step = (arc + leg) / _PIECES
    along = (np.arange(_PIECES) + 0.5) * step
    angle = np.minimum(along, arc) / radius
    place = np.stack([radius * np.sin(angle), leg + radius * np.cos(angle) - np.maximum(along - arc, 0.0)], axis=1)
    return step, place, np.stack([np.cos(angle), -np.sin(angle)], axis=1)


def hoop_findings(loading: Loading) -> tuple[Finding, ...]:
    """Return RIGGING-005 for each kind of hoop, of the one whose crown sways most."""
    hoops = [alike for alike in by_kind(loading) if isinstance(alike[0].member.shape, Hoop)]
    return tuple(_sways(alike, loading.gust) for alike in hoops)


def _sways(alike: Sequence[Standing], gust: float) -> Finding:
    sways = {each.member.name: hoop_sway(each.member, each.tube, each.ties, gust) for each in alike}
    worst = max(sways, key=lambda name: sways[name])
    shape = alike[0].member.shape
    assert isinstance(shape, Hoop)
    most = MOST_SWAY * shape.height
    is_over = sways[worst] > most
    return Finding(
        "RIGGING-005",
        Severity.WARN if is_over else Severity.PASS,
        worst,
        f"sway of the crown out of the hoop's plane in gusts of {format_quantity(gust, 'speed')}",
        format_quantity(sways[worst], "length"),
        f"{format_quantity(most, 'length')}, a twentieth of its height",
        1 - sways[worst] / most,
        "stouter tube, or stays from the crown; the spans sag more when hoops give" if is_over else "",
        "bending and twist of bent tube by Castigliano, feet held fast; worst of 16 winds and of any one span gone; "
        "the limit is common practice, no source",
    )
