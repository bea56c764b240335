"""What the legs of a zigzag bring on the members that they go between: their weight, and wind on their strip."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.layout import Layout
from lampwright.layout.leg import leg_ends
from lampwright.piece.model import FixedSection, Member
from lampwright.rigging.posts import Tie, tie_at
from lampwright.rigging.spans import DIRECTIONS, GRAVITY
from lampwright.rigging.wind import STRIP_DRAG, STRIP_WIDTH, pressure

Reals = NDArray[np.float64]


@dataclass(frozen=True)
class LegEnd:
    """One end of a leg, which half of it hangs on."""

    member: Member
    place: Reals  # (3,) [m]
    length: float  # of strip [m]
    mass: float  # of that strip, dry [kg]


def leg_ends_of(layout: Layout) -> tuple[LegEnd, ...]:
    """Return both ends of every leg of a piece."""
    return tuple(_ends(layout))


def _ends(layout: Layout) -> Iterator[LegEnd]:
    for circuit in layout.circuits:
        for run in circuit.runs:
            mass = run.run.strip.mass.value
            for each in run.sections:
                section = each.section
                if isinstance(section, FixedSection) and section.leg is not None:
                    half = each.length / 2
                    for member, place in zip((section.member, section.leg.other), leg_ends(section), strict=True):
                        yield LegEnd(member, place, half, half * mass)


def laced_ties(member: Member, ends: tuple[LegEnd, ...], gust: float, film: float) -> tuple[Tie, ...]:
    """Return what the legs bring on this member, as one force at their middle; nothing where there are none.

    Parameters
    ----------
    gust
        Speed of the wind. [m/s]
    film
        Ice or rain on the strip. [kg/m]

    Notes
    -----
    The strip is taken to turn its broad side to every wind, which is on the safe side.
    """
    own = [end for end in ends if end.member == member]
    if not own:
        return ()
    lengths = np.array([end.length for end in own])
    length = float(lengths.sum())
    middle = np.average([end.place for end in own], axis=0, weights=lengths)
    wind = pressure(gust) * STRIP_DRAG * STRIP_WIDTH * length
    weight = (sum(end.mass for end in own) + film * length) * GRAVITY
    force = np.stack([wind * np.cos(DIRECTIONS), wind * np.sin(DIRECTIONS), np.full(len(DIRECTIONS), -weight)], axis=1)
    return (tie_at(f"the zigzag on {member.name}", member, middle, force),)
