"""Figures of the maker's own: taken, marked as theirs, refused where they make no sense."""

from __future__ import annotations

import dataclasses

import pytest

from lampwright.parts import (
    FIGURE_KINDS,
    Board,
    Pack,
    Part,
    Status,
    Strip,
    figure_names,
    find,
    load_catalogue,
    override,
)
from lampwright.units import MakerError, UnitError


def test_a_stated_figure_replaces_the_catalogue_and_says_so() -> None:
    pack = find(Pack, "pack-20ah-2a4")
    changed = override(pack, {"current_limit": "2.1 A", "charge": "18 Ah"})
    assert (changed.current_limit.value, changed.current_limit.text) == (2.1, "2.1 A")
    assert changed.current_limit.status is Status.MAKER
    assert changed.charge.value == 64800.0
    assert dataclasses.replace(changed, current_limit=pack.current_limit, charge=pack.charge) == pack
    assert find(Pack, "pack-20ah-2a4") == pack


def test_a_reel_with_another_colour_order_can_be_used() -> None:
    assert override(find(Strip, "ws2812b-60"), {"order": "RGB"}).order == "RGB"


def test_a_pack_without_low_load_shut_off_can_be_stated() -> None:
    assert override(find(Pack, "pack-10ah-2a"), {"shutoff_current": "0 A"}).shutoff_current.value == 0.0


def test_a_figure_that_is_not_there_names_the_nearest() -> None:
    with pytest.raises(MakerError) as caught:
        override(find(Pack, "pack-20ah-2a4"), {"current_limt": "2 A"})
    assert caught.value.render() == (
        'error PARTS-002: a pack has no figure "current_limt"\n'
        'found:   "current_limt"\n'
        "allowed: charge, cell_voltage, output_voltage, efficiency, current_limit, total_limit, "
        "output_tolerance, shutoff_current, shutoff_delay, charge_power, charge_efficiency, mass\n"
        'do:      did you mean "current_limit"?   (lampwright explain PARTS-002)'
    )


def test_a_figure_that_cannot_be_is_refused() -> None:
    with pytest.raises(MakerError) as caught:
        override(find(Strip, "ws2812b-60"), {"red_current": "-1 mA"})
    assert caught.value.render() == (
        'error PARTS-003: "red_current" must be more than zero\n'
        'found:   "-1 mA"\n'
        "allowed: more than zero, up to 100 mA\n"
        "do:      give the figure as measured, or leave it out to take the catalogue's   "
        "(lampwright explain PARTS-003)"
    )


def test_amperes_where_milliamperes_are_meant_are_refused() -> None:
    with pytest.raises(MakerError) as caught:
        override(find(Strip, "ws2812b-60"), {"red_current": "20 A"})
    assert caught.value.render() == (
        'error PARTS-003: "red_current" must be at most 100 mA\n'
        'found:   "20 A"\n'
        "allowed: more than zero, up to 100 mA\n"
        "do:      give the figure as measured, or leave it out to take the catalogue's   "
        "(lampwright explain PARTS-003)"
    )


@pytest.mark.parametrize(
    ("kind", "part", "key", "text"),
    [
        (Pack, "pack-10ah-2a", "efficiency", "300 %"),
        (Pack, "pack-10ah-2a", "charge", "10000 Ah"),
        (Board, "m328p-16mhz-crystal", "ram", "0.2 byte"),
        (Board, "m328p-16mhz-crystal", "clock", "16 Hz"),
        (Strip, "ws2812b-60", "density", "100000 /m"),
    ],
)
def test_a_slip_of_the_finger_or_of_the_unit_is_refused(
    kind: type[Pack | Board | Strip], part: str, key: str, text: str
) -> None:
    with pytest.raises(MakerError, match=f'"{key}" must be'):
        override(find(kind, part), {key: text})


@pytest.mark.parametrize("kind", FIGURE_KINDS, ids=lambda kind: kind.__name__)
def test_every_part_of_the_catalogue_is_within_what_may_be_stated(kind: type[Part]) -> None:
    for part in load_catalogue().of(kind).values():
        for key in FIGURE_KINDS[kind]:
            figure = getattr(part, key)
            assert getattr(override(part, {key: figure.text}), key).value == figure.value


def test_a_figure_in_the_wrong_unit_is_refused() -> None:
    with pytest.raises(UnitError) as caught:
        override(find(Pack, "pack-20ah-2a4"), {"charge": "20 A"})
    assert caught.value.problem.summary == '"A" is the unit of a current; a charge is meant here'


def test_an_order_of_four_colours_is_refused() -> None:
    with pytest.raises(MakerError) as caught:
        override(find(Strip, "sk6812-60"), {"order": "GRBW"})
    assert caught.value.render() == (
        "error PARTS-004: this is not an order of three colours\n"
        'found:   "GRBW"\n'
        "allowed: RGB, RBG, GRB, GBR, BRG, BGR\n"
        'do:      write the order in which the strip takes its bytes, such as "GRB"   '
        "(lampwright explain PARTS-004)"
    )


def test_only_strips_have_a_colour_order() -> None:
    assert "order" in figure_names(find(Strip, "ws2812b-60"))
    assert "order" not in figure_names(find(Pack, "pack-10ah-2a"))
