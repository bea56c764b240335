"""Pixels counted wrongly mean a strip cut wrongly; pixels placed wrongly mean a look that tears."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.layout import lay_out
from lampwright.layout.member import points_along
from lampwright.piece.model import Anchor, FixedSection, Hoop, Member, Piece, SpanSection
from lampwright.piece.path import path_length
from lampwright.units.errors import MakerError

BuildPiece = Callable[..., Piece]


def test_frost_gate_hoop_carries_346_pixels(piece_of: BuildPiece, arch_section: FixedSection) -> None:
    # By hand: legs 2 × (2.6 - 1.2) m, half circle π × 1.2 m, less 0.8 m bare: 5.7699 m × 60 /m = 346.19.
    layout = lay_out(piece_of(arch_section))
    assert layout.circuits[0].n_pixel == 346


def test_first_and_last_pixel_of_a_hoop_mirror_each_other(piece_of: BuildPiece, arch: Member) -> None:
    whole = FixedSection("whole", arch, 0.0, path_length(arch.shape) - 6.0)  # 6.0 m of strip, 360 pixels
    xyz = lay_out(piece_of(whole)).circuits[0].xyz
    assert xyz[0] == pytest.approx([-1.2, 0.0, 0.5 / 60])
    assert len(xyz) == 360


def test_crown_is_at_the_height_that_the_maker_gave(arch: Member) -> None:
    crown = points_along(arch, np.array([path_length(arch.shape) / 2]))
    assert crown[0] == pytest.approx([0.0, 0.0, 2.6])


def test_strip_that_comes_down_the_right_leg_ends_at_the_right_foot(arch: Member) -> None:
    end = points_along(arch, np.array([path_length(arch.shape)]))
    assert end[0] == pytest.approx([1.2, 0.0, 0.0])


def test_turned_hoop_stands_across_the_other_way(arch: Member) -> None:
    turned = dataclasses.replace(arch, turn=math.pi / 2)
    foot = points_along(turned, np.array([0.0]))
    assert foot[0] == pytest.approx([0.0, -1.2, 0.0])


def test_leaning_post_leans_towards_its_own_x_axis_and_turns_with_it(leaning_post: Member) -> None:
    top = points_along(leaning_post, np.array([2.0]))
    assert top[0] == pytest.approx([1.0, 2.0 + 1.0, 0.5 + math.sqrt(3)])


def test_whole_metres_do_not_lose_their_last_pixel(piece_of: BuildPiece, leaning_post: Member) -> None:
    for density, n_pixel in ((30.0, 51), (60.0, 102), (144.0, 244)):  # 1.7 m: 51, 102, 244.8
        section = FixedSection("post", leaning_post, 0.1, 0.2)
        assert lay_out(piece_of(section, density=density)).circuits[0].n_pixel == n_pixel


def test_garland_hangs_between_the_crowns_and_dips_by_its_sag(piece_of: BuildPiece, garland: SpanSection) -> None:
    xyz = lay_out(piece_of(garland, density=144.0)).circuits[0].xyz
    assert xyz[:, 0] == pytest.approx(0.0)
    assert xyz[:, 2].min() == pytest.approx(2.6 - 0.25, abs=1e-4)
    assert 0.0 < xyz[0, 1] < 0.01
    steps = np.linalg.norm(np.diff(xyz, axis=0), axis=1)
    assert steps == pytest.approx(1 / 144, rel=1e-4)


def test_strip_goes_on_from_section_to_section(
    piece_of: BuildPiece, arch_section: FixedSection, garland: SpanSection
) -> None:
    circuit = lay_out(piece_of(arch_section, garland)).circuits[0]
    first, second = circuit.runs[0].sections
    assert (first.first, first.n_pixel, second.first) == (0, 346, 346)
    assert first.length == pytest.approx(346 / 60)
    assert circuit.along == pytest.approx((np.arange(circuit.n_pixel) + 0.5) / 60)
    assert circuit.runs[0].n_pixel == circuit.n_pixel == 346 + second.n_pixel


@given(
    width=st.floats(0.5, 10.0),
    extra=st.floats(0.0, 5.0),
    shares=st.lists(st.floats(0.0, 1.0), min_size=2, max_size=2),
)
def test_no_two_pixels_of_a_hoop_are_further_apart_than_the_strip_between_them(
    width: float, extra: float, shares: list[float]
) -> None:
    hoop = Member("hoop", Hoop(width, width / 2 + extra), (0.0, 0.0, 0.0), 0.3)
    a, b = sorted(share * path_length(hoop.shape) for share in shares)
    places = points_along(hoop, np.array([a, b]))
    assert np.linalg.norm(places[1] - places[0]) <= b - a + 1e-9
    assert places[:, 2].min() >= -1e-9


def message(piece: Piece) -> str:
    """Return what the maker reads."""
    with pytest.raises(MakerError) as caught:
        lay_out(piece)
    return caught.value.render()


def test_bare_ends_that_eat_the_member_are_named(piece_of: BuildPiece, arch: Member) -> None:
    text = message(piece_of(FixedSection("arch 1", arch, 3.5, 3.5)))
    assert text == (
        'error LAYOUT-001: no room for a pixel in section "arch 1" of run "hoop", circuit "arch 1"\n'
        "found:   -0.43 m of usable length\n"
        "allowed: at least one pitch of the strip, 0.017 m\n"
        "do:      shorten the bare ends, lengthen the member or choose a denser strip"
        "   (lampwright explain LAYOUT-001)"
    )


def test_span_without_sag_is_refused(piece_of: BuildPiece, garland: SpanSection) -> None:
    assert message(piece_of(dataclasses.replace(garland, sag=0.0))) == (
        'error LAYOUT-002: section "garland" of run "hoop", circuit "arch 1" does not hang\n'
        "found:   a sag of 0 m\n"
        "allowed: a sag above zero\n"
        'do:      write sag = "0.09 m" or measure it on the cord: a cord pulled straight pulls its posts over'
        "   (lampwright explain LAYOUT-002)"
    )


def test_hoop_below_its_half_circle_is_refused_for_strip_and_for_span(piece_of: BuildPiece, next_arch: Member) -> None:
    low = Member("low", Hoop(2.4, 1.0), (0.0, 0.0, 0.0), 0.0)
    expected = (
        'error LAYOUT-003: hoop "low" is lower than its half circle, so section "{name}" of run "hoop", '
        'circuit "arch 1" has no place\n'
        "found:   1 m high and 2.4 m wide\n"
        "allowed: a height of at least half the width\n"
        'do:      write height = "1.2 m" or more, or make it narrower   (lampwright explain LAYOUT-003)'
    )
    span = SpanSection("garland", Anchor(low, "crown"), Anchor(next_arch, "crown"), 0.2)
    assert message(piece_of(FixedSection("strip", low, 0.0, 0.0))) == expected.format(name="strip")
    assert message(piece_of(span)) == expected.format(name="garland")


def test_span_straight_down_is_refused(piece_of: BuildPiece, leaning_post: Member) -> None:
    post = dataclasses.replace(leaning_post, shape=dataclasses.replace(leaning_post.shape, lean=0.0))
    span = SpanSection("drop", Anchor(post, "top"), Anchor(post, "foot"), 0.2)
    assert message(piece_of(span)) == (
        'error LAYOUT-004: the ends of section "drop" of run "hoop", circuit "arch 1" stand one above the '
        "other\n"
        'found:   "post top" and "post foot", 0 m apart over the ground\n'
        "allowed: two points that are apart over the ground\n"
        "do:      let the span end at another point, or fasten the strip to a straight member"
        "   (lampwright explain LAYOUT-004)"
    )


def test_span_into_the_ground_is_refused(piece_of: BuildPiece, garland: SpanSection) -> None:
    text = message(piece_of(dataclasses.replace(garland, sag=2.8)))
    assert text == (
        'error LAYOUT-005: section "garland" of run "hoop", circuit "arch 1" hangs into the ground\n'
        "found:   its lowest pixel at -0.2 m with a sag of 2.8 m\n"
        "allowed: every pixel above the ground; over a path, people need head room too\n"
        "do:      give it less sag or higher ends   (lampwright explain LAYOUT-005)"
    )


def test_all_sections_in_trouble_are_named_at_once(piece_of: BuildPiece, arch: Member, garland: SpanSection) -> None:
    with pytest.raises(MakerError) as caught:
        lay_out(piece_of(FixedSection("arch 1", arch, 3.5, 3.5), dataclasses.replace(garland, sag=-0.1)))
    assert [problem.code for problem in caught.value.problems] == ["LAYOUT-001", "LAYOUT-002"]
