"""What carriers, tubes and bases may bear, and how much of that a piece uses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lampwright.parts import Cord, Status, Tube
from lampwright.piece.model import Member
from lampwright.rigging.posts import Burden, Tie, ballast
from lampwright.rigging.spans import Pulls, RiggedSpan

CARRIER_SAFETY = 5.0  # breaking load over working load, a cord maker's guide says 5 to 6, 12 to 15 for lives [1]
TUG_SAFETY = 2.0  # the same under a person's tug (common practice, no source) [1]
KNOWN_YIELD_SAFETY = 2.0  # yield over stress where a standard sets the yield (common practice, no source) [1]
ASSUMED_YIELD_SAFETY = 3.0  # and where it is assumed, as for conduit (common practice, no source) [1]

SLEEVE_AREA = 27.75e-6  # of a hollow sleeve, 12 x 4.5 mm outside and 10.5 x 2.5 mm inside, computed [m2]
SLEEVE_MODULUS = 3e6  # of silicone rubber at small strains, 1 to 5 MPa (from memory) [Pa]
CIRCUIT_STRAIN = 0.005  # at which copper and solder of a strip part, 0.3 to 1 % (from memory; nothing looked up) [1]

SCREENING = "a screening, no structural certificate"


@dataclass(frozen=True)
class Standing:
    """A member of known tube, what hangs on it and what it bears."""

    member: Member
    tube: Tube
    ties: tuple[Tie, ...]
    burden: Burden


@dataclass(frozen=True)
class Loading:
    """A whole piece in gusts of one speed."""

    gust: float  # [m/s]
    spans: tuple[RiggedSpan, ...]
    pulls: Pulls
    standing: tuple[Standing, ...]


def by_kind(loading: Loading) -> list[list[Standing]]:
    """Return the members that stand, those of like tube, shape and foot together."""
    kinds: dict[object, list[Standing]] = {}
    for standing in loading.standing:
        kinds.setdefault((standing.member.shape, standing.member.support), []).append(standing)
    return list(kinds.values())


def knotted_strength(cord: Cord) -> float:
    """Return what a cord bears with a knot or clamp in it. [N]"""
    return cord.strength.value * (1 - cord.knot_loss.value)


def sleeve_strain(pull: float) -> float:
    """Return by which share a sleeve alone would be longer under a pull [N], by Hooke's law. [1]"""
    return pull / (SLEEVE_AREA * SLEEVE_MODULUS)


def yield_safety(tube: Tube) -> float:
    """Return the safety asked of a tube: more where no standard sets its yield. [1]"""
    is_known = tube.yield_stress.status in (Status.STANDARD, Status.DATASHEET)
    return KNOWN_YIELD_SAFETY if is_known else ASSUMED_YIELD_SAFETY


def allowed_stress(tube: Tube) -> float:
    """Return the bending stress allowed. [Pa]"""
    return tube.yield_stress.value / yield_safety(tube)


def use_of(loading: Loading) -> float:
    """Return the largest share that any carrier, weak link and stated base uses of what it may bear. [1]

    A weak link may be used up to its rating: then its span comes down by itself.
    """
    used = [0.0]
    for index, span in enumerate(loading.spans):
        tension = float(np.max(loading.pulls.tension[:, index]))
        used.append(tension * CARRIER_SAFETY / knotted_strength(span.cord))
        if span.section.hold.weak_link is not None:
            used.append(tension / span.section.hold.weak_link)
    for standing in loading.standing:
        base = standing.member.support.base
        if base is not None:
            used.append(ballast(standing.member, standing.tube, standing.burden.moment, base) / base.mass)
    return max(used)
