"""The same piece arranged otherwise: a maker pays for what is said to help."""

from __future__ import annotations

import pytest

from lampwright.faults.arrangements import AS_WRITTEN, Arrangement, compare_arrangements, variants
from lampwright.faults.every import Body, embody
from lampwright.parts import unit_price
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


def test_a_pair_of_packs_costs_a_pack_a_circuit(body: Body, compared: dict[str, Arrangement]) -> None:
    extra = compared["packs in pairs"].extra
    packs = [circuit.pack for circuit in body.piece.circuits]
    money = sum(unit_price(pack.name) or 0.0 for pack in packs)
    assert (extra.money, extra.mass, extra.hours) == pytest.approx((money, sum(p.mass.value for p in packs), 0.4))
    assert extra.money > 40.0


def test_a_feed_costs_its_wire_and_its_plug(body: Body) -> None:
    (fed,) = [each for each in variants(body) if each.name == "every run fed at both ends"]
    links = sum(len(one.links) for one in fed.body.anatomies) - sum(len(one.links) for one in body.anatomies)
    # by hand, from offers.toml: 4 m of AWG 18 at 23.60 for 100 m, a plug of five for 3.50
    assert fed.extra.money == pytest.approx(links * (4 * 0.236 + 0.70))
