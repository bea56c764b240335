"""A first sum with a part left out is no sum."""

from __future__ import annotations

import pytest

from lampwright.parts import (
    FIGURE_KINDS,
    Part,
    Port,
    Status,
    Wire,
    find,
    load_catalogue,
    mass_of,
    near_name,
    offers_of,
    unit_price,
)

# a port is an output of a pack: nobody buys it alone
PARTS: list[Part] = [part for kind in FIGURE_KINDS if kind is not Port for part in load_catalogue().of(kind).values()]
BY_LENGTH = {"strips", "wires", "tubes", "cords"}


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.name)
def test_every_part_has_a_price_a_delivery_time_and_a_mass(part: Part) -> None:
    offers = offers_of(part.name)
    assert offers
    by_length = any(part.name in getattr(load_catalogue(), shelf) for shelf in BY_LENGTH)
    for offer in offers:
        assert offer.part == part.name
        assert offer.status is Status.JUDGEMENT  # nothing here was looked up
        assert (offer.price or 0) > 0
        assert offer.days > 0
        assert (offer.length is not None) == by_length
    assert (mass_of(part.name) or 0) > 0
    assert (unit_price(part.name) or 0) > 0


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.name)
def test_more_at_once_never_costs_more_for_each(part: Part) -> None:
    offers = sorted(offers_of(part.name), key=lambda offer: offer.pack * (offer.length or 1))
    each = [(offer.price or 0) / (offer.pack * (offer.length or 1)) for offer in offers]
    assert each == sorted(each, reverse=True)


def test_wire_of_any_colour_costs_the_same() -> None:
    assert [offer.price for offer in offers_of("awg-18 red")] == [offer.price for offer in offers_of("awg-18")]
    assert {offer.part for offer in offers_of("awg-18 red")} == {"awg-18 red"}
    # AWG 18: 0.823 mm2 at 8.93 g/cm3 is 7.35 g/m
    assert mass_of("awg-18 red") == mass_of("awg-18") == pytest.approx(0.00735, rel=1e-3)


def test_a_thicker_wire_of_one_system_costs_more() -> None:
    gauges = [find(Wire, f"awg-{gauge}") for gauge in range(30, 8, -2)]
    prices = [unit_price(wire.name) or 0 for wire in gauges]
    assert prices == sorted(prices)


def test_a_pack_of_many_is_shared_out() -> None:
    assert unit_price("fuse-3a") == pytest.approx(0.25)  # ten for 2.50
    assert unit_price("ws2812b-60") == pytest.approx(4.6)  # 5 m for 23.00
    assert unit_price("glitter") is None
    assert offers_of("glitter") == ()
    assert mass_of("glitter") is None


@pytest.mark.parametrize("known", ["ws2812b-60", "awg-18 red", "pack-20ah-3a", "fuse holder", "end cap for conduit-1"])
def test_what_is_called_as_plans_call_it_is_never_questioned(known: str) -> None:
    assert near_name(known) == ""


def test_a_slip_in_a_name_is_told_before_no_plan_finds_the_part() -> None:
    assert near_name("ws2812b60") == "ws2812b-60"
    assert near_name("pack-20ah3a") == "pack-20ah-3a"
    assert near_name("a box of hooks") == ""
