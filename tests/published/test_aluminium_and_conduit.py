"""Tubes and cords of the catalogue against what standards and lists print.

Sources
-------
ANSI C80.3 / UL 797, as a trade body of steel tube makers lists it: mass in lb/ft (secondary).
ASTM B241: 6061-T6 241 MPa (35 ksi), 6063-T6 25 ksi (secondary).
MIL-C-5040H type III: 550 lbf, given there as 2446.5 N too (secondary).
IEC 62275 / UL 62275, loop tensile strength of cable ties by class: 18, 50, 120 lbf are 80.1, 222.4, 533.8 N; type 1
keeps 50 % of it after conditioning (secondary).
NIST SP 811, appendix B.8: 1 ksi is 6.894757 MPa (from memory).
"""

from __future__ import annotations

import math

import pytest

from lampwright.parts import CableTie, Cord, Tube, find, load_catalogue
from lampwright.rigging.fixings import tie_strength
from lampwright.rigging.limits import CARRIER_SAFETY, knotted_strength
from lampwright.units import parse

STEEL, ALUMINIUM = 7850.0, 2700.0  # [kg/m3] (from memory)


@pytest.mark.parametrize("tube", load_catalogue().tubes.values(), ids=lambda tube: tube.name)
def test_tube_weighs_what_its_section_weighs(tube: Tube) -> None:
    outside, wall = tube.outside.value, tube.wall.value
    metal = STEEL if tube.name.startswith("conduit") else ALUMINIUM
    # The list rounds to 0.01 lb/ft, up to 2 % of the lightest; its zinc adds up to 2 %.
    assert tube.mass.value == pytest.approx(metal * math.pi * (outside - wall) * wall, rel=0.04)


def test_yields_are_those_of_the_standard() -> None:
    assert find(Tube, "aluminium-6061-25").yield_stress.value == pytest.approx(parse("35 ksi", "pressure"), rel=0.002)
    assert parse("1 ksi", "pressure") == pytest.approx(6.894757e6, rel=1e-7)


def test_type_three_cord_breaks_at_the_newtons_that_the_standard_gives() -> None:
    assert find(Cord, "nylon-550").strength.value == pytest.approx(2446.5, abs=0.05)


@pytest.mark.parametrize(("pounds", "newtons"), [(18, 80.1), (50, 222.4), (120, 533.8)])
def test_cable_tie_opens_at_the_newtons_of_its_class_and_keeps_half(pounds: int, newtons: float) -> None:
    tie = find(CableTie, f"cable-tie-{pounds}")
    assert tie.strength.value == pytest.approx(newtons, abs=0.05)
    assert tie_strength(tie) == pytest.approx(newtons / 2, abs=0.05)


def test_type_three_cord_works_at_a_fifth_of_its_strength_and_half_of_that_with_a_knot() -> None:
    # A cord maker's guide: a safety of 5, and knots that cost up to half: 489 N, knotted 245 N (recomputed).
    cord = find(Cord, "nylon-550")
    assert cord.strength.value / CARRIER_SAFETY == pytest.approx(489, abs=0.5)
    assert knotted_strength(cord) / CARRIER_SAFETY == pytest.approx(245, abs=0.5)
    assert cord.stretch.value >= 0.30  # MIL-C-5040H type III: at least
    assert cord.mass.value <= 6.61e-3  # and at most, in kg/m
