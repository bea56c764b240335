"""The catalogue: every figure can be trusted as far as it says, and found by its name."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import pytest

from lampwright.parts import (
    FIGURE_KINDS,
    Board,
    CableTie,
    Capacitor,
    Connector,
    Cord,
    Diode,
    Figure,
    Fuse,
    Pack,
    Part,
    Resistor,
    Status,
    Strip,
    Tube,
    Wire,
    find,
    load_catalogue,
)
from lampwright.parts.kinds import MAY_BE_ZERO
from lampwright.parts.publish import published
from lampwright.units import MakerError, parse

CATALOGUE = load_catalogue()
PARTS: list[Part] = [part for kind in FIGURE_KINDS for part in CATALOGUE.of(kind).values()]


def figures(part: Part) -> dict[str, Figure]:
    values: dict[str, Any] = {field.name: getattr(part, field.name) for field in dataclasses.fields(part)}
    return {key: value for key, value in values.items() if isinstance(value, Figure)}


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.name)
def test_every_figure_says_where_it_comes_from(part: Part) -> None:
    for key, figure in figures(part).items():
        assert figure.source.strip(), key
        assert figure.status is not Status.MAKER, key
        assert figure.value == parse(figure.text, FIGURE_KINDS[type(part)][key]), key
        assert figure.value > 0 or (figure.value == 0 and key in MAY_BE_ZERO), key


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.name)
def test_every_figure_can_be_overridden(part: Part) -> None:
    assert set(figures(part)) == set(FIGURE_KINDS[type(part)])


def test_common_practice_admits_that_it_has_no_source() -> None:
    for part in PARTS:
        for key, figure in figures(part).items():
            if figure.status is Status.COMMON_PRACTICE:
                is_label = any(word in figure.source for word in ("sold", "label", "says", "no regulator", "states"))
                assert "no source" in figure.source or is_label, (part.name, key)


def test_names_are_unique_over_all_shelves() -> None:
    names = [part.name for part in PARTS]
    assert len(names) == len(set(names))


@pytest.mark.parametrize(
    ("kind", "name"),
    [
        (Strip, "ws2812b-30"),
        (Strip, "ws2812b-60"),
        (Strip, "ws2812b-144"),
        (Strip, "sk6812-30"),
        (Strip, "sk6812-60"),
        (Strip, "sk6812-144"),
        (Pack, "pack-20ah-2a4"),
        (Board, "m328p-16mhz-crystal"),
        (Board, "m328p-16mhz-resonator"),
        (Wire, "awg-20"),
        (Wire, "mm2-0.75"),
        (Fuse, "fuse-3a"),
        (Capacitor, "cap-1000uf"),
        (Resistor, "res-330ohm"),
        (Connector, "connector-3-sealed"),
        (Diode, "diode-1n5822"),
        (Tube, "conduit-1"),
        (Cord, "nylon-550"),
        (CableTie, "cable-tie-50"),
    ],
)
def test_a_part_is_found_by_its_name(kind: Any, name: str) -> None:
    part = find(kind, name)
    assert isinstance(part, kind)
    assert part.name == name


def test_a_mistyped_part_names_the_nearest() -> None:
    with pytest.raises(MakerError) as caught:
        find(Wire, "awg20")
    assert caught.value.render() == (
        'error PARTS-001: there is no wire "awg20" in the catalogue\n'
        'found:   "awg20"\n'
        "allowed: awg-10, awg-12, awg-14, awg-16, awg-18, awg-20, awg-22, awg-24, awg-26, awg-28, awg-30, "
        "mm2-0.5, mm2-0.75, mm2-1, mm2-1.5, mm2-2.5\n"
        'do:      did you mean "awg-20" or "awg-30" or "awg-28"?   (lampwright explain PARTS-001)'
    )


def test_cold_tables_rise_in_temperature_and_never_pass_the_rating() -> None:
    for pack in CATALOGUE.packs.values():
        temperatures = [kelvin for kelvin, _ in pack.cold_capacity]
        shares = [share for _, share in pack.cold_capacity]
        assert temperatures == sorted(temperatures)
        assert shares == sorted(shares)
        assert shares[-1] == 1.0


def test_no_data_line_is_offered_on_a_pin_that_the_board_needs() -> None:
    needed = {
        # crystal, reset, serial loader; USB loader; out of reach of "out" (datasheets, from memory)
        "atmega328p": {"PB6", "PB7", "PC6", "PD0", "PD1"},
        "atmega32u4": {"PE2"},
        "atmega2560": {"PE0", "PE1"} | {f"P{port}{bit}" for port in "HJKL" for bit in range(8)},
    }
    for board in CATALOGUE.boards.values():
        assert not needed[board.chip] & set(board.pins)


def test_the_document_shows_the_same_catalogue() -> None:
    document = Path(__file__).parents[2] / "docs" / "parts.md"
    assert document.read_text(encoding="utf-8") == published()
