"""Bent tube of the shelf: a hoop that fits isn't bought again, and none is sawn up for nothing."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.making import Piece, ShelfRow, Stock
from lampwright.making.bent_stock import plan_with_bent
from lampwright.making.cut_drawing import draw_cuts
from lampwright.making.cutting import CutPlan
from lampwright.making.materials import Material, MaterialCuts
from lampwright.stock import BentTube, bent_from_text

SOLD = [Stock("3 m", 3000, 900)]


def hoop(first: float, last: float, radius: str = "1 m") -> BentTube:
    return bent_from_text(f"{first} m, 180 deg at {radius}, {last} m")


def wanted(name: str, form: BentTube) -> Piece:
    return Piece(name, round(1000 * form.length), bent=form)


def row(form: BentTube, count: int = 1, lot: int = 1) -> ShelfRow:
    return ShelfRow("conduit-1", form.length, count, lot, form)


def plan(pieces: list[Piece], rows: list[ShelfRow], sold: list[Stock] = SOLD) -> CutPlan:
    return plan_with_bent(sold, pieces, rows, 3, 300)


def test_a_hoop_that_fits_is_used_again_with_its_legs_cut_down() -> None:
    found = plan([wanted("arch", hoop(1.0, 1.0))], [row(hoop(1.4, 1.1))])
    (bar,) = found.bars
    assert found.cost == 0
    assert bar.stock.lot == 1
    assert bar.stock.name == "bent from the shelf: 1.4 m, 180 deg at 1 m, 1.1 m, lot 1"
    assert bar.marks == (400, 400 + bar.cuts[0].piece.length)
    # 400 mm off the one leg and 100 mm off the other, less a saw cut each
    assert bar.rests == pytest.approx((397, 97), abs=1)
    assert found.kept == (397,)


@pytest.mark.parametrize("form", [hoop(0.9, 1.1), hoop(2.0, 2.0, "1.1 m"), bent_from_text("2 m, 90 deg at 1 m, 2 m")])
def test_a_hoop_that_doesnt_fit_is_bought_anew(form: BentTube) -> None:
    found = plan([wanted("arch", hoop(1.0, 1.0))], [row(form)])
    assert found.cost == 1800  # 5.14 m
    assert all(bar.stock.tube is None or bar.stock.tube.leg is not None for bar in found.bars)


def test_straight_ends_serve_as_straight_tube_where_that_saves_money() -> None:
    found = plan([Piece("post", 1000), Piece("rail", 1300)], [row(hoop(1.4, 1.1))])
    assert found.cost == 0
    assert sorted(bar.stock.name for bar in found.bars) == [
        "1.097 m off the end of bent tube, lot 1",
        "1.397 m off the end of bent tube, lot 1",
    ]


def test_no_hoop_is_sawn_up_where_that_saves_nothing() -> None:
    # one length is bought either way, and both posts come out of it
    found = plan([Piece("long post", 2000), Piece("post", 900)], [row(hoop(1.0, 1.0))])
    assert [bar.stock.name for bar in found.bars] == ["3 m"]
    offcut = Stock("1 m from the shelf", 1000, 0, 1, is_offcut=True)
    found = plan([Piece("post", 900)], [row(hoop(1.0, 1.0))], [*SOLD, offcut])
    assert [bar.stock.name for bar in found.bars] == ["1 m from the shelf"]


forms = st.builds(hoop, *[st.integers(0, 15).map(lambda n: n / 10)] * 2)


@given(st.lists(forms, min_size=1, max_size=4), st.lists(forms, max_size=4))
def test_as_many_hoops_as_possible_are_used_again_with_the_least_cut_off(
    needs: list[BentTube], there: list[BentTube]
) -> None:
    # against every way to give the hoops out
    best = (0, 0.0)
    padded = [*there, *[None] * len(needs)]
    for order in permutations(padded, len(needs)):
        cuts = [None if own is None else own.cut_down_to(need) for need, own in zip(needs, order, strict=True)]
        if all(cut is not None or own is None for cut, own in zip(cuts, order, strict=True)):
            best = min(best, (-sum(cut is not None for cut in cuts), sum(sum(cut) for cut in cuts if cut)))
    pieces = [wanted(f"arch {number}", each) for number, each in enumerate(needs)]
    found = [bar for bar in plan(pieces, [row(each) for each in there]).bars if bar.stock.tube]
    again = [bar for bar in found if bar.stock.tube and bar.stock.tube.leg is None]
    assert len(again) == -best[0]
    cut_off = sum(bar.stock.length - bar.cuts[0].piece.length for bar in again) / 1000
    assert cut_off == pytest.approx(best[1], abs=0.003 * len(needs))
    taken = [(bar.stock.tube.number, bar.stock.tube.leg) for bar in found if bar.stock.tube]
    assert len(set(taken)) == len(taken)


def test_the_drawing_shows_where_tube_is_bent_and_both_marks() -> None:
    pieces = (wanted("arch", hoop(1.0, 1.0)),)
    found = plan(list(pieces), [row(hoop(1.4, 1.1))])
    drawn = draw_cuts(MaterialCuts(Material("conduit-1", "tube", 0.001, pieces), found, is_priced=True))
    tree = ET.fromstring(drawn)
    texts = [each.text for each in tree.iter("{http://www.w3.org/2000/svg}text")]
    assert [text for text in texts if text and text.endswith(" mm")] == ["400 mm", "5542 mm"]
    (bend,) = [each for each in tree.iter("{http://www.w3.org/2000/svg}rect") if each.get("height") == "3"]
    scale = 940 / found.bars[0].stock.length
    assert float(bend.get("x", "")) == pytest.approx(30 + 1400 * scale, abs=0.02)
    assert float(bend.get("width", "")) == pytest.approx(3141.6 * scale, abs=0.02)
