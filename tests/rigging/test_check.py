"""A finding that says nothing of a weak post lets it fall on someone."""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Callable

import numpy as np
import pytest

from lampwright.findings.model import Finding, Severity
from lampwright.layout import Layout
from lampwright.rigging import check_rigging
from lampwright.rigging.check import load_piece, take_down_gust
from lampwright.rigging.relief import end_ways
from lampwright.rigging.sliding import grip_mass
from lampwright.rigging.spans import film_mass, rig_spans, span_pulls, tugged_tension
from lampwright.units import parse

Build = Callable[..., Layout]


def found(layout: Layout, code: str) -> Finding:
    """Return the first finding of this code."""
    return next(finding for finding in check_rigging(layout) if finding.code == code)


def test_every_check_is_there(row: Build) -> None:
    per_circuit = ["RIGGING-001", "RIGGING-002", "RIGGING-003"]
    fixings = ["RIGGING-010", "RIGGING-010", "RIGGING-011", "RIGGING-011"]
    assert [finding.code for finding in check_rigging(row())] == [
        *per_circuit,
        *per_circuit,
        *fixings,
        "RIGGING-004",
        "RIGGING-005",
        "RIGGING-006",
        "RIGGING-008",
    ]


def test_span_without_a_cord_is_warned_of(row: Build) -> None:
    finding = found(row((', carrier = "nylon-550"', "")), "RIGGING-001")
    assert finding.severity is Severity.WARN
    assert finding.do == 'tie the strip to a cord and name it, such as carrier = "nylon-550"'


def test_nearly_straight_span_breaks_its_cord_in_wind(row: Build) -> None:
    finding = found(row(('sag = "0.3 m"', 'sag = "2 mm"'), ('"nylon-550"', '"wire-rope-2"')), "RIGGING-001")
    assert finding.severity is Severity.FAIL
    assert finding.margin is not None
    assert finding.margin < 0


def test_strip_tied_with_too_little_slack_fails_and_with_enough_passes(row: Build) -> None:
    def slack(text: str) -> Severity:
        return found(row(('"nylon-550"', f'"nylon-550", slack = "{text}"')), "RIGGING-002").severity

    assert found(row(), "RIGGING-002").severity is Severity.NOTE
    assert (slack("1 %"), slack("10 %")) == (Severity.FAIL, Severity.PASS)


def test_carrier_is_told_to_be_shorter_by_its_stretch_and_a_hundredth(row: Build) -> None:
    layout = row()
    (span, _), finding = rig_spans(layout), found(layout, "RIGGING-002")
    shorter, stretch, sleeve, circuit = re.findall(r"([0-9.]+) (?:cm|%)", finding.summary)
    assert float(shorter) / 100 == pytest.approx((float(stretch) / 100 + 0.01) * span.length, rel=0.02)
    assert float(sleeve) > 10 * float(stretch) > 10 * float(circuit)  # the strip's circuit would part first of all


def test_slack_puts_more_pixels_on_the_same_carrier(row: Build) -> None:
    plain = row().circuits[0].runs[1].n_pixel
    more = row(('"nylon-550"', '"nylon-550", slack = "5 %"')).circuits[0]
    assert more.runs[1].n_pixel == pytest.approx(1.05 * plain, abs=1)
    assert more.xyz[-1, 0] < 3.0


def test_weak_link_lets_go_too_early_or_too_late(row: Build) -> None:
    def link(text: str) -> Severity:
        return found(row(('"nylon-550"', f'"nylon-550", weak_link = "{text}"')), "RIGGING-003").severity

    # A post of 1 in conduit bears 68.3 MPa * 855.7 mm³ / 2.4 m = 24.4 N at its top.
    assert (link("5 N"), link("23 N"), link("30 N")) == (Severity.FAIL, Severity.PASS, Severity.WARN)
    assert "24.4 N" in found(row(), "RIGGING-003").limit


def test_weak_link_lets_go_before_a_base_tips_or_slides(row: Build) -> None:
    def most(mass: str, reach: str) -> float:
        base = f'base = {{ mass = "{mass}", reach = "{reach}" }}'
        return parse(found(row(('socket = "0.5 m"', base)), "RIGGING-003").limit.split(" to ")[1], "force")

    # 10 kg and 2.4 m of tube of 0.997 kg/m are 121.5 N; 0.2 m to the edge at 45 degrees: 121.5 x 0.1414 / (1.5 x 2.4).
    assert most("10 kg", "0.2 m") == pytest.approx(4.77, abs=0.02)
    # Wide and light it slides: 3 kg and the tube are 52.9 N, x 0.3 / 1.5.
    assert most("3 kg", "10 m") == pytest.approx(10.6, abs=0.1)
    assert most("200 kg", "1 m") == pytest.approx(24.4, abs=0.05)  # and heavy it bends


def test_middle_post_is_judged_with_one_span_gone(row: Build) -> None:
    standing = {each.member.name: each.burden for each in load_piece(row(), 3.0).standing}
    assert standing["post 2"].gone != ""
    assert standing["post 1"].gone == ""
    balanced = standing["post 2"].moment
    assert balanced > 0.9 * standing["post 1"].moment  # a middle post that lost one span is an end post


def test_mirrored_piece_gives_mirrored_forces(row: Build) -> None:
    one = load_piece(row(), 10.0).standing
    other = load_piece(row(('step = ["3 m"', 'step = ["-3 m"')), 10.0).standing
    for left, right in zip(one, other, strict=True):
        assert left.burden.moment == pytest.approx(right.burden.moment, rel=1e-9)
        assert left.burden.sway == pytest.approx(right.burden.sway, rel=1e-9)


def test_a_spans_ends_bear_its_weight_and_wind_and_nothing_else(row: Build) -> None:
    spans = rig_spans(row())
    pulls = span_pulls(spans, 12.0, 0.03, 293.15)
    whole = pulls.at_start + pulls.at_end
    weight = np.array([(span.mass + 0.03) * 9.80665 * span.length for span in spans])
    assert whole[..., 2] == pytest.approx(-np.broadcast_to(weight, whole.shape[:2]), rel=1e-6)
    # Wind along x, where the spans run, adds nothing; wind along y is the greatest.
    assert whole[0, :, :2] == pytest.approx(np.zeros((2, 2)), abs=1e-6)
    assert int(np.argmax(np.abs(whole[:, 0, 1]))) in (4, 12)


def test_cold_and_ice_pull_harder(row: Build) -> None:
    spans = rig_spans(row())
    warm = span_pulls(spans, 0.0, 0.0, 293.15).tension.max()
    assert span_pulls(spans, 0.0, film_mass(268.15), 293.15).tension.max() > warm
    assert span_pulls(spans, 0.0, 0.0, 253.15).tension.max() > warm
    assert film_mass(268.15) > film_mass(283.15)


def test_a_tug_is_borne_by_two_straight_halves(row: Build) -> None:
    span = rig_spans(row())[0]
    own = float(span_pulls([span], 0.0, 0.0, 293.15).tension.max())
    tension = tugged_tension(span, 100.0) - own
    reach = span.length / 2 * (1 + tension / span.stiffness)
    dip = (reach**2 - 1.5**2) ** 0.5
    assert 2 * tension * dip / reach == pytest.approx(100.0, rel=1e-6)


def test_more_wind_than_it_bears_is_refused_and_a_promise_that_holds_is_told(row: Build) -> None:
    finding = found(row(('wind = "7 m/s"', 'wind = "20 m/s"')), "RIGGING-008")
    assert finding.severity is Severity.FAIL
    assert finding.do.startswith("promise less, such as wind = ")
    promise = finding.do.split('"')[1]
    assert found(row(('wind = "7 m/s"', f'wind = "{promise}"')), "RIGGING-008").severity is Severity.PASS


def test_piece_comes_down_before_its_weak_links_let_go(row: Build) -> None:
    strong = take_down_gust(row())
    loose = row(('"nylon-550"', '"nylon-550", weak_link = "8 N"'))
    gust = take_down_gust(loose)
    assert gust < strong
    assert load_piece(loose, gust).pulls.tension.max() == pytest.approx(8.0, rel=0.02)


def test_base_is_weighed_and_a_shallow_socket_warned_of(row: Build) -> None:
    def foot(text: str) -> Severity:
        return found(row(('socket = "0.5 m"', text)), "RIGGING-006").severity

    assert foot('socket = "5 cm"') is Severity.WARN
    assert foot('base = { mass = "2 kg", reach = "0.4 m" }') is Severity.FAIL
    assert foot('base = { mass = "200 kg", reach = "0.4 m" }') is Severity.PASS
    assert foot("") is Severity.NOTE


def test_light_base_slides_before_it_tips(row: Build) -> None:
    def slides(mass: str, reach: str = "1.5 m") -> Finding:
        base = f'base = {{ mass = "{mass}", reach = "{reach}" }}'
        return found(row(('socket = "0.5 m"', base)), "RIGGING-009")

    assert slides("3 kg").severity is Severity.FAIL
    assert slides("10 kg").severity is Severity.PASS
    wide = row(('socket = "0.5 m"', 'base = { mass = "3 kg", reach = "6 m" }'))
    assert found(wide, "RIGGING-006").severity is Severity.PASS  # so wide that it doesn't tip
    assert found(wide, "RIGGING-009").severity is Severity.FAIL
    assert found(wide, "RIGGING-008").severity is Severity.FAIL  # and so it comes down earlier than was promised


def test_base_needs_no_grip_without_wind_or_pull(row: Build) -> None:
    layout = row(('socket = "0.5 m"', 'base = { mass = "30 kg", reach = "0.4 m" }'))
    lone = dataclasses.replace(load_piece(layout, 0.0).standing[0], ties=())
    assert grip_mass(lone, 0.0) == 0.0
    assert 0.0 < grip_mass(lone, 12.0) < grip_mass(lone, 16.0)


def test_hoop_that_sways_is_warned_of(row: Build) -> None:
    def crown(tube: str) -> Finding:
        hoop = ('shape = "straight"\nlength = "2.4 m"', 'shape = "hoop"\nwidth = "1.2 m"\nheight = "3.6 m"')
        tops = ('from = "top", to = "next top"', 'from = "crown", to = "next crown"')
        finding = found(row(hoop, tops, ('"conduit-1"', f'"{tube}"')), "RIGGING-005")
        assert "crown" in finding.summary
        return finding

    assert crown("conduit-1-2").severity is Severity.WARN
    assert crown("conduit-1-1-4").severity is Severity.PASS


def test_fixing_must_outlast_the_weak_link_or_the_tug(row: Build) -> None:
    def fixing(text: str) -> Finding:
        return found(row(('"nylon-550"', f'"nylon-550"{text}')), "RIGGING-010")

    link = ', weak_link = "100 N"'
    assert fixing("").severity is Severity.NOTE
    # 150 N are asked: a tie of 50 lbf keeps 111.2 N.
    assert fixing(link + ', fixing = { tie = "cable-tie-50" }').severity is Severity.FAIL
    assert fixing(link + ', fixing = { tie = "cable-tie-50", count = 2 }').severity is Severity.PASS
    assert "4 × cable-tie-18 or 2 × cable-tie-50 or 1 × cable-tie-120" in fixing(link).do
    without = fixing(', fixing = { tie = "cable-tie-120", count = 3 }')
    tugged = tugged_tension(rig_spans(row())[0], 100.0)
    assert without.limit.startswith(f"at least {2 * tugged:.0f} N")


def test_loop_gives_as_much_as_the_spans_end_moves(row: Build) -> None:
    def loop(text: str) -> Finding:
        return found(row(("[show]", f'[allowances]\nloop = "{text}"\n[show]')), "RIGGING-011")

    assert loop("0 cm").severity is Severity.WARN
    assert loop("10 cm").severity is Severity.PASS
    wanted = loop("1 cm").do.split('"')[1]
    assert loop(wanted).severity is Severity.PASS


def test_end_of_a_span_that_swings_moves_by_the_chord_of_its_swing(row: Build) -> None:
    # The slope at the end of a flat curve is 4 f / L = 0.4; swung aside by a right angle it turns level, and
    # a point 5 cm from the end moves by 5 cm sin(atan 0.4) sqrt(2), a little more as the rope stretches.
    loading = load_piece(row(('"nylon-550"', '"wire-rope-2"')), 40.0)
    assert end_ways(loading, 0.05).max() == pytest.approx(0.05 * math.sin(math.atan(0.4)) * math.sqrt(2), rel=0.15)
    assert end_ways(loading, 0.10) == pytest.approx(2 * end_ways(loading, 0.05))
    assert end_ways(load_piece(row(('coldest = "-5 degC"', 'coldest = "20 degC"')), 0.0), 0.05).max() < 0.002


def test_stated_tug_is_the_one_that_is_reckoned_with(row: Build) -> None:
    harder = row(('wind = "7 m/s"', 'wind = "0 m/s"\ntug = "400 N"'))
    finding = found(harder, "RIGGING-001")
    assert "in a tug of 400 N" in finding.summary
    assert finding.value == f"{tugged_tension(rig_spans(harder)[0], 400.0):.0f} N"


def test_each_load_of_the_path_is_told_apart(row: Build) -> None:
    summary = found(row(), "RIGGING-001").summary
    still, blown, iced, tugged = (float(each) for each in re.findall(r"([0-9.]+) N", summary.split("; by weight")[1]))
    assert still < blown < iced
    assert tugged > still


def test_member_of_unknown_tube_is_said_not_to_be_judged(row: Build) -> None:
    finding = found(row(('tube = "conduit-1"', "")), "RIGGING-007")
    assert finding.summary == "whether post 1 to post 3 can stand was not looked at"


def test_a_layout_problem_names_its_line(row: Build) -> None:
    with pytest.raises(Exception, match=r"row\.toml:\d+:\d+: error LAYOUT-001") as caught:
        row(('section = [{ on = "post" }]', 'section = [{ on = "post", bare_start = "3 m" }]'))
    assert "no room for a pixel" in str(caught.value)


@pytest.mark.parametrize(
    ("wind", "limit", "basis"),
    [
        ('wind = "7 m/s"', "above 10.5 m/s, the gusts of 7 m/s", "gusts 1.5 × mean (from memory)"),
        ('wind = "force 4"', "above 11.9 m/s, the gusts of 7.9 m/s (force 4)", "gusts 1.5 × mean (from memory)"),
        ('wind = "40 Pa"', "above 12 m/s, the gusts of 8 m/s (40 Pa)", "gusts 1.5 × mean (from memory)"),
        ('wind = "6 m/s"\ngust_factor = 1.4', "above 8.4 m/s, the gusts of 6 m/s", "gusts 1.4 × mean (as stated)"),
        ('wind = "90 Pa"\ngust_factor = 1', "above 12 m/s, the gusts stated (90 Pa)", "gusts as stated; mean by 1.5"),
    ],
)
def test_findings_say_which_wind_was_used(row: Build, wind: str, limit: str, basis: str) -> None:
    finding = found(row(('wind = "7 m/s"', wind)), "RIGGING-008")
    assert finding.limit == limit
    assert basis in finding.basis
