"""Findings on what people carry: its weight in the hand, and how gusts turn it there."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lampwright.findings.model import Finding, Severity
from lampwright.layout import Layout
from lampwright.piece.model import FixedSection, Member, Staff
from lampwright.rigging.posts import Tie, ties_of
from lampwright.rigging.spans import GRAVITY, Pulls, RiggedSpan
from lampwright.rigging.wind import CYLINDER_DRAG, STRIP_THICKNESS, pressure
from lampwright.units import format_quantity

HEAVIEST = 2.5  # carried in one hand for an hour, the pack in a pocket (common practice, no source) [kg]
STRONGEST_TURN = 8.0  # that a wrist holds against for a moment (common practice, no source) [N m]
UNKNOWN_WIDTH = 0.03  # of a staff whose tube isn't stated (common practice, no source) [m]
UNKNOWN_MASS = 0.35  # a round wooden pole of that width (common practice, no source) [kg/m]


def carried_findings(layout: Layout, spans: Sequence[RiggedSpan], pulls: Pulls, gust: float) -> tuple[Finding, ...]:
    """Return what the heaviest and the most turned of the staffs say: RIGGING-020 and RIGGING-021.

    Parameters
    ----------
    pulls
        What the spans pull in gusts of this speed.
    gust
        Speed of the gusts. [m/s]
    """
    staffs = [member for member in layout.piece.members if isinstance(member.shape, Staff)]
    if not staffs:
        return ()
    strip = _strip_masses(layout)
    masses = {member.name: _mass_per_length(member) * _shape(member).length + strip[member.name] for member in staffs}
    turns = {member.name: _turn(member, masses[member.name], spans, pulls, gust) for member in staffs}
    is_guessed = any(member.support.tube is None for member in staffs)
    return _heavy(masses, is_guessed), _turned(turns, gust, is_guessed)


def _shape(member: Member) -> Staff:
    assert isinstance(member.shape, Staff)
    return member.shape


def _strip_masses(layout: Layout) -> Mapping[str, float]:
    """Return how much strip each member carries. [kg]"""
    masses: dict[str, float] = defaultdict(float)
    for circuit in layout.circuits:
        for run in circuit.runs:
            for section in run.sections:
                if isinstance(section.section, FixedSection):
                    masses[section.section.member.name] += section.length * run.run.strip.mass.value
    return masses


def _mass_per_length(member: Member) -> float:
    tube = member.support.tube
    return UNKNOWN_MASS if tube is None else tube.mass.value


def _turn(member: Member, mass: float, spans: Sequence[RiggedSpan], pulls: Pulls, gust: float) -> float:
    """Return the greatest moment about the hand: wind from any side, the staff's own lean, cords tied to it. [N m]"""
    staff, tube = _shape(member), member.support.tube
    width = UNKNOWN_WIDTH if tube is None else tube.outside.value + STRIP_THICKNESS
    above, below = staff.length - staff.grip, staff.grip
    wind = pressure(gust) * CYLINDER_DRAG * width * (above**2 - below**2) / 2
    own = mass * GRAVITY * (staff.length / 2 - staff.grip) * math.sin(staff.lean)
    cords = sum((_about_the_hand(tie, member) for tie in ties_of(member, spans, pulls)), np.zeros((1, 2)))
    return abs(wind) + abs(own) + float(np.linalg.norm(cords, axis=1).max())


def _about_the_hand(tie: Tie, member: Member) -> NDArray[np.float64]:
    """Return a cord's (n_direction, 2) moments about the hand. [N m]"""
    staff = _shape(member)
    aside = staff.grip * math.sin(staff.lean)
    x, y = tie.aside[0] - aside * math.cos(member.turn), tie.aside[1] - aside * math.sin(member.turn)
    return replace(tie, height=tie.height - staff.grip * math.cos(staff.lean), aside=(x, y)).moment


def _heavy(masses: Mapping[str, float], is_guessed: bool) -> Finding:
    """RIGGING-020: weight in the hand."""
    worst = max(masses, key=lambda name: masses[name])
    mass = masses[worst]
    is_over = mass > HEAVIEST
    return Finding(
        "RIGGING-020",
        Severity.WARN if is_over else Severity.PASS,
        worst,
        "weight that a person carries, pack and board not counted",
        format_quantity(mass, "mass"),
        f"at most {format_quantity(HEAVIEST, 'mass')} in one hand",
        1 - mass / HEAVIEST,
        "lighter tube, a shorter staff, a sling, or people who take turns" if is_over else "",
        f"{_pole(is_guessed)}strip by its length; the limit is common practice, no source",
    )


def _turned(turns: Mapping[str, float], gust: float, is_guessed: bool) -> Finding:
    """RIGGING-021: how gusts turn it in the hand."""
    worst = max(turns, key=lambda name: turns[name])
    turn = turns[worst]
    is_over = turn > STRONGEST_TURN
    return Finding(
        "RIGGING-021",
        Severity.WARN if is_over else Severity.PASS,
        worst,
        f"turning moment at the hand in gusts of {format_quantity(gust, 'speed', 2 if gust < 10 else 3)}",
        f"{turn:.3g} N m",
        f"at most {STRONGEST_TURN:g} N m",
        1 - turn / STRONGEST_TURN,
        "hold it higher, a shorter staff, two hands or a belt cup, or less wind in the brief" if is_over else "",
        f"{_pole(is_guessed)}wind on the staff above the hand less that below, its lean, cords tied to it; the limit "
        "is common practice, no source",
    )


def _pole(is_guessed: bool) -> str:
    return "a wooden pole of 30 mm is taken where no tube is stated; " if is_guessed else ""
