"""The same piece arranged otherwise: a maker pays for what is said to help."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lampwright.faults.arrangements import (
    AS_WRITTEN,
    Arrangement,
    cheapest_enough,
    compare_arrangements,
    variants,
)
from lampwright.faults.changes import changes
from lampwright.faults.every import Body, embody
from lampwright.faults.survey import judge_survival, survey
from lampwright.parts import unit_price
from lampwright.piece.model import Bank
from tests.faults.pieces import one_line, row


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


@pytest.mark.parametrize(
    "name",
    [
        "every run fed at both ends",
        "data sent to both ends of every run",
        "pixels with a second data line",
        "packs in pairs",
        "a pack and a board ready, and someone to swap them",
    ],
)
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


def test_a_demand_that_is_broken_gets_the_cheapest_arrangement_that_meets_it() -> None:
    # four posts on one circuit, any one fault may take a quarter: each post as a circuit of its own will do
    layout = one_line(4, lit="75 %")
    compared = compare_arrangements(embody(layout))
    own = compared[0]
    assert own.broken_by == ("post: the pack is empty",)
    enough = cheapest_enough(compared)
    assert enough is not None
    assert enough.name == "each member a circuit of its own"
    assert all(each.extra.money >= enough.extra.money for each in compared if each.is_enough)
    finding = judge_survival(survey(layout))
    assert f"{enough.name} would do, for about {enough.extra.money:.0f}" in finding.do


def test_what_no_arrangement_makes_good_is_not_papered_over() -> None:
    # one post: a lone pack, board or data line takes it whole, and the post itself can't be made up for
    compared = compare_arrangements(embody(row(1, lit="50 %")))
    assert cheapest_enough(compared) is None
    assert all("post 1: a member is down" in each.broken_by for each in compared if "made into 2" in each.name)


def test_packs_in_pairs_dont_survive_the_loss_of_both_packs() -> None:
    # after two faults all must be lit: both packs of one circuit are two faults
    compared = {each.name: each for each in compare_arrangements(embody(row(2, failures=2, lit="50 %")))}
    assert not compared["packs in pairs"].is_enough


def test_a_circuit_is_cut_into_as_many_parts_as_the_demand_calls_for() -> None:
    body = embody(row(2, lit="80 %", length="2 m", garland=True))
    variant = next(each for each in variants(body) if each.name == "each circuit made into 3")
    # one fault of five circuits may go: two circuits become six
    assert len(variant.body.anatomies) == 6
    assert variant.body.n_pixel == body.n_pixel
    sizes = [one.n_pixel for one in variant.body.anatomies]
    assert max(sizes[:3]) - min(sizes[:3]) <= 1
    for one in variant.body.anatomies:
        assert [each.first for each in one.segments] == [
            sum(each.n_pixel for each in one.segments[:i]) for i in range(len(one.segments))
        ]
    circuit = body.piece.circuits[0]
    price = sum(unit_price(part.name) or 0.0 for part in (circuit.pack, circuit.board))
    assert variant.extra.money > 4 * price > 0


def test_the_makers_own_variants_are_weighed_beside() -> None:
    body = embody(row(2, lit="50 %"))
    other = embody(row(4, lit="50 %"))
    compared = {each.name: each for each in compare_arrangements(body, {"four.toml": other})}
    # two packs, two boards and 2 m of strip more; two feeds, as a feed costs by hand above
    circuit = body.piece.circuits[0]
    parts = {circuit.pack.name: 2, circuit.board.name: 2, circuit.strip.name: 2 * 29 / 30}
    money = sum(count * (unit_price(name) or 0.0) for name, count in parts.items())
    assert compared["four.toml"].extra.money == pytest.approx(money + 2 * (4 * 0.236 + 0.70), rel=0.02)
    assert compared["four.toml"].lit_at_worst == pytest.approx(0.75)


def test_circuits_that_have_two_packs_already_are_offered_no_pair() -> None:
    body = embody(row(2))
    assert "packs in pairs" in {each.name for each in changes(body)}
    circuits = tuple(replace(circuit, bank=Bank(2)) for circuit in body.piece.circuits)  # changed by hand
    of_two = replace(body, piece=replace(body.piece, circuits=circuits))
    assert "packs in pairs" not in {each.name for each in changes(of_two)}
