"""What is forgotten in the list of cuts is missing on the night before the show."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from lampwright.layout import Layout, lay_out
from lampwright.making import ShelfRow, cut_all, draw_cuts, fit_sections, materials_of
from lampwright.parts import Offer
from lampwright.piece import piece_from_text, read_piece
from tests.small_piece import small_piece

GATE = Path(__file__).parents[2] / "examples" / "frost-gate" / "frost-gate.toml"


@pytest.fixture(scope="module")
def gate() -> Layout:
    return lay_out(read_piece(GATE))


def test_all_of_frost_gate_is_cut(gate: Layout) -> None:
    found = {each.part: each for each in materials_of(gate)}
    assert [piece.length for piece in found["conduit-1"].pieces] == [math.ceil(1000 * (2 * 1.4 + math.pi * 1.2))] * 4
    assert sum(piece.length for piece in found["ws2812b-60"].pieces) == sum(each.n_pixel for each in gate.circuits)
    assert (
        len(found["awg-14 red"].pieces) == len(found["awg-14 black"].pieces) == 4 + 4 + 3
    )  # leads, feeds of hoops and of garlands
    assert {piece.length for piece in found["awg-14 red"].pieces} == {
        730,
        430,
    }  # 0.5 m or 0.2 m, solder 3 cm, loop 10 cm, twice 5 cm
    assert len(found["nylon-550"].pieces) == 3


def test_strip_is_cut_where_the_file_joins_it() -> None:
    text = small_piece().replace('pin = "PD6"', 'pin = "PD6"\njoint = [{ at = "50 %", resistance = "20 mohm" }]')
    (strip,) = [
        each for each in materials_of(lay_out(piece_from_text(text, Path("small.toml")))) if each.kind == "strip"
    ]
    assert [piece.length for piece in strip.pieces] == [15, 15]  # 1 m at 30 /m


def test_allowances_of_the_file_are_added_to_wire_and_cord(gate: Layout) -> None:
    text = GATE.read_text(encoding="utf-8")
    none = '[allowances]\nsolder = "0 m"\nloop = "0 m"\nrelief = "0 m"\nknots = "0 m"\n[standby]'
    bare = {each.part: each for each in materials_of(lay_out(piece_from_text(text.replace("[standby]", none), GATE)))}
    assert {piece.length for piece in bare["awg-14 red"].pieces} == {500, 200}
    with_knots = {each.part: each for each in materials_of(gate)}["nylon-550"]
    for plain, knotted in zip(bare["nylon-550"].pieces, with_knots.pieces, strict=True):
        assert knotted.length - plain.length == 800


def test_carrier_is_cut_shorter_than_the_strip_that_hangs_on_it() -> None:
    text = GATE.read_text(encoding="utf-8").replace('slack = "4 %"', 'slack = "5 %"')
    layout = lay_out(piece_from_text(text, GATE))
    strip = layout.circuits[0].runs[1].sections[0].room
    (cord,) = [each for each in materials_of(layout) if each.kind == "cord"]
    assert strip / (cord.pieces[0].length / 1000 - 0.8) == pytest.approx(1.05, abs=0.003)  # and it stretches a little


def test_strip_that_cannot_follow_is_cut_and_its_jumpers_are_on_the_list() -> None:
    layout = lay_out(read_piece(GATE.parents[1] / "reed-curtain" / "reed-curtain.toml"))
    found = {each.part: each for each in materials_of(layout)}
    assert {piece.length for piece in found["ws2812b-30"].pieces} == {100}
    # Drops 30 cm apart, the strip's ends 7 mm aside: 301 + 30 + 100 + 100 mm, three in each of five circuits.
    for part in ("awg-20 red", "awg-20 black", "awg-24 green"):
        assert [piece.length for piece in found[part].pieces if " to " in piece.name] == [531] * 15


def test_what_stays_dark_is_what_no_whole_pixel_fills(gate: Layout) -> None:
    arch, garland = fit_sections(gate)
    assert (arch.count, garland.count) == (4, 3)
    assert arch.room == pytest.approx(2 * 1.4 + math.pi * 1.2 - 0.8)
    for fit in (arch, garland):
        assert fit.length == pytest.approx(fit.n_pixel / 60)
        assert 0 <= fit.dark < 1 / 60


def test_the_shop_and_the_shelf_are_heeded(gate: Layout) -> None:
    shop = [Offer("conduit-1", 6.6, 2100, 1, 3.0), Offer("conduit-1", 3.0, 900, 1, 1.0)]
    (tube,) = [each for each in cut_all(gate, [ShelfRow("conduit-1", 6.58, 1)], shop) if each.material.kind == "tube"]
    assert tube.is_priced
    assert tube.plan.cost == 3 * 2100  # three of 6.6 m, the fourth from the shelf
    assert tube.plan.is_proven
    assert tube.plan.n_joint == 0


def test_the_drawing_shows_every_mark(gate: Layout) -> None:
    for cuts in cut_all(gate):
        root = ET.fromstring(draw_cuts(cuts))
        texts = [element.text or "" for element in root.iter() if element.tag.endswith("text")]
        for bar in cuts.plan.bars:
            for mark in bar.marks:
                assert any(text.split(" ")[0] == str(mark) for text in texts)
