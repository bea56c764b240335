"""The same piece arranged otherwise: a maker pays for what is said to help."""

from __future__ import annotations

import pytest

from lampwright.faults.arrangements import AS_WRITTEN, Arrangement, compare_arrangements, variants
from lampwright.faults.every import Body, embody
from tests.faults.pieces import row


@pytest.fixture(scope="module")
def body() -> Body:
    joint = 'joint = [{ at = "50 %", resistance = "20 mohm" }]'
    return embody(row(4, lit="50 %", length="2 m", garland=True, feed=joint))


@pytest.fixture(scope="module")
def compared(body: Body) -> dict[str, Arrangement]:
    return {each.name: each for each in compare_arrangements(body)}


def test_the_makers_own_stands_first_and_costs_nothing_more(body: Body) -> None:
    own, *others = compare_arrangements(body)
    assert own.name == AS_WRITTEN
    assert (own.extra.money, own.extra.mass, own.extra.hours) == (0.0, 0.0, 0.0)
    gains = [each.gain for each in others if each.gain is not None]
    assert gains == sorted(gains, reverse=True)


def test_no_arrangement_loses_pixels_on_paper(body: Body) -> None:
    assert {variant.body.n_pixel for variant in variants(body)} == {body.n_pixel}


def test_one_board_for_all_is_the_worst(compared: dict[str, Arrangement]) -> None:
    one = compared["one pack and one board for all"]
    assert one.lit_at_worst == 0.0
    assert one.holds < compared[AS_WRITTEN].holds
    assert one.extra.money < 0


@pytest.mark.parametrize("name", ["every run fed at both ends", "pixels with a second data line", "packs in pairs"])
def test_what_only_adds_a_second_way_never_lowers_the_odds(compared: dict[str, Arrangement], name: str) -> None:
    assert compared[name].holds > compared[AS_WRITTEN].holds
    assert compared[name].lit_at_worst >= compared[AS_WRITTEN].lit_at_worst


def test_two_strips_on_a_member_help_where_half_of_it_is_enough() -> None:
    compared = {each.name: each for each in compare_arrangements(embody(row(1, lit="50 %", length="2 m")))}
    own, halves = compared[AS_WRITTEN], compared["two strips of half density, a circuit each"]
    assert halves.holds > own.holds
    assert halves.mean_lit == pytest.approx(own.mean_lit, abs=0.01)
    assert halves.lit_at_worst == 0.0  # the post itself may still fall, and takes both


def test_a_pair_of_packs_costs_a_pack_a_circuit(compared: dict[str, Arrangement]) -> None:
    # by hand, from arrangements.toml: 4 x 30, 4 x 0.43 kg, 4 x 0.1 h
    extra = compared["packs in pairs"].extra
    assert (extra.money, extra.mass, extra.hours) == pytest.approx((120.0, 1.72, 0.4))
