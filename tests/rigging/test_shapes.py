"""What stands on a bent foot, what is carried and what is mirrored is judged like any other post."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lampwright.findings.model import Severity
from lampwright.layout import Layout, check_layout
from lampwright.parts import Tube, find
from lampwright.piece.model import Arc, Bent, Hoop, Member, Straight
from lampwright.rigging import check_rigging
from lampwright.rigging.check import load_piece
from lampwright.rigging.posts import burden_of, n_leg, ties_of, wind_moment
from lampwright.rigging.spans import GRAVITY, rig_spans, span_pulls
from lampwright.rigging.wind import CYLINDER_DRAG, STRIP_THICKNESS, pressure
from tests.rigging.conftest import TEXT
from tests.rigging.test_check import found

Build = Callable[..., Layout]
TUBE = find(Tube, "conduit-1")
ORIGIN = (0.0, 0.0, 0.0)
MAST = '[[member]]\nname = "mast"\nshape = "straight"\nlength = "3 m"\nat = ["3 m", "2 m", "0 m"]\n\n'
POST = 'shape = "straight"\nlength = "2.4 m"'
ROW = 'repeat = { pattern = "row", count = 3, step = ["3 m", "0 m", "0 m"] }'


def crook(turn: float = 0.0) -> Member:
    shape = Bent(((0.0, 0.0, 0.0), (0.0, 0.0, 2.0), (0.8, 0.0, 2.0)), (0.0,))
    return Member("crook", shape, (1.0, 2.0, 0.0), turn)


@given(st.floats(-3.2, 3.2))
@settings(max_examples=20, deadline=None)
def test_arm_of_a_crook_bends_its_foot_by_its_own_weight(turn: float) -> None:
    # 0.8 m of tube at a lever of 0.4 m; nothing else weighs aside.
    moment = burden_of(crook(turn), TUBE, (), 0.0).moment
    assert moment == pytest.approx(TUBE.mass.value * 0.8 * GRAVITY * 0.4, rel=1e-3)


def test_wind_on_a_crook_is_that_on_its_post_and_on_its_arm() -> None:
    force = pressure(12.0) * CYLINDER_DRAG * (TUBE.outside.value + STRIP_THICKNESS)
    assert wind_moment(crook(), TUBE, 12.0) == pytest.approx(force * (2.0 * 1.0 + 0.8 * 2.0), rel=1e-3)


@given(st.floats(0.5, 4.0), st.floats(5.0, 20.0))
@settings(max_examples=30, deadline=None)
def test_half_circle_is_loaded_as_the_hoop_without_legs(width: float, speed: float) -> None:
    arc = Member("arc", Arc(width, width / 2, 0.0), ORIGIN, 0.3)
    hoop = Member("hoop", Hoop(width, width / 2), ORIGIN, 0.3)
    assert wind_moment(arc, TUBE, speed) == pytest.approx(wind_moment(hoop, TUBE, speed), rel=1e-4)
    assert burden_of(arc, TUBE, (), speed).moment == pytest.approx(burden_of(hoop, TUBE, (), speed).moment, rel=1e-4)


def test_leaning_arc_pulls_both_its_feet_over() -> None:
    lean = math.radians(20)
    arc = Member("arc", Arc(2.0, 1.0, lean), ORIGIN, 0.0)
    # The middle of half a circle lies 2 r / pi above its feet.
    own = TUBE.mass.value * math.pi * GRAVITY * 2 / math.pi * math.sin(lean)
    assert n_leg(arc) == 2
    assert burden_of(arc, TUBE, (), 0.0).moment == pytest.approx(own / 2, rel=1e-4)


def test_bent_rod_as_straight_as_a_post_is_a_post() -> None:
    rod = Member("rod", Bent((ORIGIN, (0.0, 0.0, 2.4)), ()), ORIGIN, 0.0)
    post = Member("post", Straight(2.4, 0.0), ORIGIN, 0.0)
    assert burden_of(rod, TUBE, (), 15.0).moment == pytest.approx(burden_of(post, TUBE, (), 15.0).moment, rel=1e-6)


def test_gate_with_a_garland_is_judged_like_any_other(row: Build) -> None:
    gate = (
        'shape = "bent"\npoints = [["0 m", "-1 m", "0 m"], ["0 m", "-1 m", "2.2 m"], ["0 m", "1 m", "2.2 m"], '
        '["0 m", "1 m", "0 m"]]\nbend = "30 cm"'
    )
    layout = row((POST, gate), ('"top", to = "next top"', '"corner 1", to = "next corner 1"'))
    codes = {finding.code for finding in (*check_layout(layout), *check_rigging(layout))}
    assert {"LAYOUT-006", "RIGGING-001", "RIGGING-004", "RIGGING-006", "RIGGING-008"} <= codes
    assert "RIGGING-005" not in codes


def staffs(row: Build, *changes: tuple[str, str]) -> Layout:
    staff = 'shape = "staff"\nlength = "2 m"\nheld = "1.1 m"\ngrip = "0.7 m"'
    return row((POST, staff), ('socket = "0.5 m"\n', ""), *changes)


def test_people_are_judged_and_no_base_is_asked_of_them(row: Build) -> None:
    findings = {finding.code: finding for finding in check_rigging(staffs(row))}
    assert not {"RIGGING-004", "RIGGING-005", "RIGGING-006", "RIGGING-007"} & set(findings)
    assert findings["RIGGING-020"].severity is Severity.PASS
    assert findings["RIGGING-020"].value == "2.13 kg"  # 2 m of conduit at 0.997 kg/m, and 2 m of strip at 70 g/m


def test_staff_too_heavy_or_turned_too_hard_is_warned_of(row: Build) -> None:
    heavy = staffs(row, ('"conduit-1"', '"conduit-1-1-4"'))
    assert found(heavy, "RIGGING-020").severity is Severity.WARN
    tall = staffs(row, ('length = "2 m"', 'length = "5 m"'), ('wind = "7 m/s"', 'wind = "12 m/s"'))
    assert found(tall, "RIGGING-021").severity is Severity.WARN


def test_staff_in_wind_turns_as_its_page_says(row: Build) -> None:
    # 62.5 Pa * 1.2 * 0.03 m * (1.3² - 0.7²) / 2 = 1.35 N m: 24 km/h with gusts of 1.5 are 10 m/s.
    alone = TEXT[TEXT.index('[[circuit.run]]\nname = "garland"') : TEXT.index("[show]")]
    layout = staffs(row, ('tube = "conduit-1"\n', ""), ('wind = "7 m/s"', 'wind = "24 km/h"'), (alone, ""))
    assert found(layout, "RIGGING-021").value == "1.35 N m"


def test_cords_between_staffs_turn_them_too(row: Build) -> None:
    def turn(sag: str) -> float:
        return float(found(staffs(row, ('"0.3 m"', f'"{sag}"')), "RIGGING-021").value.split()[0])

    assert turn("10 cm") > turn("40 cm")


@given(
    lean=st.integers(-30, 30),
    turn=st.integers(-180, 180),
    sag=st.integers(10, 80),
    speed=st.floats(0.0, 15.0),
)
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_mirrored_pieces_give_mirrored_forces(row: Build, lean: int, turn: int, sag: int, speed: float) -> None:
    put = f'at = ["1 m", "0.3 m", "0 m"]\nturn = "{turn} deg"\nlean = "{lean} deg"\n'
    mirror = 'repeat = { pattern = "mirrored", plane = "3 m" }'
    layout = row(
        (POST, put + POST),
        (ROW, mirror),
        (
            "[[circuit]]",
            '[[member]]\nname = "mast"\nshape = "straight"\nlength = "3 m"\nat = ["3 m", "2 m", "0 m"]\n\n[[circuit]]',
        ),
        ('skip = "last"\n', ""),
        ('"next top"', '"mast top"'),
        ('"0.3 m"', f'"{sag} cm"'),
    )
    spans = rig_spans(layout)
    pulls = span_pulls(spans, speed, 0.02, 270.0)
    # Winds come from 16 directions: a wind's mirror image blows to pi less its own angle.
    other_way = [(8 - n) % 16 for n in range(16)]
    flip = np.array([-1.0, 1.0, 1.0])
    scale = float(np.abs(pulls.at_start).max())
    for ends in (pulls.at_start, pulls.at_end):
        assert ends[other_way, 1] == pytest.approx(ends[:, 0] * flip, abs=1e-6 * scale)
    assert pulls.tension[other_way, 1] == pytest.approx(pulls.tension[:, 0], rel=1e-6)
    one, other = (burden_of(each, TUBE, ties_of(each, spans, pulls), speed) for each in layout.piece.members[:2])
    assert (one.moment, one.sway) == (pytest.approx(other.moment, rel=1e-6), pytest.approx(other.sway, rel=1e-6))


def test_what_is_known_of_a_piece_is_the_same_mirrored_or_not(row: Build) -> None:
    loading = load_piece(row((ROW, 'repeat = { pattern = "mirrored", plane = "1.5 m" }')), 10.0)
    one, other = loading.standing
    assert one.burden.moment == pytest.approx(other.burden.moment, rel=1e-6)


def test_what_hangs_is_not_asked_what_it_stands_on(row: Build) -> None:
    halo = 'shape = "arc"\nradius = "80 cm"\nsweep = "360 deg"\nlean = "90 deg"\nat = ["0 m", "0 m", "2.6 m"]'
    garland = ('"top", to = "next top"', '"crown", to = "next crown"')
    layout = row((POST, halo), ('socket = "0.5 m"\n', ""), garland)
    findings = {finding.code: finding for finding in check_rigging(layout)}
    assert not {"RIGGING-004", "RIGGING-006", "RIGGING-007"} & set(findings)
    assert findings["RIGGING-022"].summary == "what holds up post 1 to post 3 was not looked at"
    # 2 pi 0.8 m of conduit at 0.997 kg/m
    assert findings["RIGGING-022"].value == "the heaviest weighs 5.01 kg without its strip"
    standing = row((POST, halo), garland)  # on a wall, in a socket
    assert "RIGGING-006" in {finding.code for finding in check_rigging(standing)}


def test_crook_is_told_how_far_its_end_sways(row: Build) -> None:
    points = '[["0 m", "0 m", "0 m"], ["0 m", "0 m", "2 m"], ["60 cm", "0 m", "2 m"]]'
    keys = f'shape = "bent"\nbend = "20 cm"\npoints = {points}'
    layout = row((POST, keys), ('"top", to = "next top"', '"end", to = "next corner 1"'))
    finding = found(layout, "RIGGING-005")
    assert finding.summary == "sway of its end"
    straight = burden_of(Member("post", Straight(2.0, 0.0), ORIGIN, 0.0), TUBE, (), 10.0).sway
    rod = Member("rod", Bent((ORIGIN, (0.0, 0.0, 2.0)), ()), ORIGIN, 0.0)
    assert burden_of(rod, TUBE, (), 10.0).sway == pytest.approx(straight, rel=1e-3)
