"""Bent tube: a hoop that fits is used again, one that doesn't is never bought instead of the right one."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.layout import bent_tube
from lampwright.piece.model import Arc, Bent, Hoop, Straight
from lampwright.piece.path import path_length
from lampwright.stock import Bend, BentTube, add_lot, bent_from_text, open_stock
from lampwright.stock.model import NewLot
from lampwright.stock.plain import export_book, read_lots
from lampwright.units import MakerError

HOOP = "1.4 m, 180 deg at 1.2 m, 1.4 m"

legs = st.integers(0, 3000).map(lambda mm: mm / 1000)
degrees = st.integers(-179, 180).map(math.radians)
bends = st.builds(Bend, st.integers(10, 2000).map(lambda mm: mm / 1000), st.integers(5, 360).map(math.radians), degrees)
tubes = st.integers(1, 4).flatmap(
    lambda n: st.builds(
        BentTube,
        st.tuples(*[legs] * (n + 1)),
        st.tuples(*[bends] * n).map(lambda all_: (replace(all_[0], turned=0.0), *all_[1:])),
    )
)


def test_a_hoop_is_told_by_its_legs_and_its_radius() -> None:
    hoop = bent_tube(Hoop(2.4, 2.6))
    assert hoop is not None
    assert hoop.text == HOOP
    assert hoop.length == pytest.approx(2 * 1.4 + math.pi * 1.2)
    assert bent_tube(Straight(2.0, 0.1)) is None


@given(tubes)
def test_what_is_written_of_a_tube_is_read_again(tube: BentTube) -> None:
    again = bent_from_text(tube.text)
    assert tube.cut_down_to(again) is not None
    assert again.length == pytest.approx(tube.length, abs=0.01)


@given(tubes, st.booleans(), legs, legs)
def test_longer_legs_are_cut_down_and_shorter_ones_never_serve(
    tube: BentTube, is_turned: bool, first: float, last: float
) -> None:
    longer = replace(tube, legs=(tube.legs[0] + first, *tube.legs[1:-1], tube.legs[-1] + last))
    cut = (longer.turned_round() if is_turned else longer).cut_down_to(tube)
    assert cut is not None
    assert sum(cut) == pytest.approx(first + last, abs=0.001)
    too_short = replace(tube, legs=(tube.legs[0] + 0.01, *tube.legs[1:-1], tube.legs[-1] + 0.01))
    assert tube.cut_down_to(too_short) is None
    wider = replace(tube, bends=(replace(tube.bends[0], radius=tube.bends[0].radius + 0.02), *tube.bends[1:]))
    assert tube.cut_down_to(wider) is None


@given(tubes)
def test_a_tube_told_from_its_other_end_is_the_same(tube: BentTube) -> None:
    assert tube.turned_round().turned_round() == tube
    assert tube.turned_round().length == pytest.approx(tube.length)


def test_a_tube_bent_to_one_side_is_not_its_mirror_image() -> None:
    right, left = (bent_tube(Bent(((0, 0, 0), (0, 0, 1), (1, 0, 1), (1, y, 1)), (0.1, 0.1))) for y in (1.0, -1.0))
    flat = bent_tube(Bent(((0, 0, 0), (0, 0, 1), (1, 0, 1), (1, 0, 2)), (0.1, 0.1)))
    assert right is not None
    assert left is not None
    assert flat is not None
    assert right.cut_down_to(left) is None
    assert right.cut_down_to(right.turned_round()) == pytest.approx((0.0, 0.0))
    assert flat.text == "90 cm, 90 deg at 10 cm, 80 cm, 90 deg at 10 cm turned 180 deg, 90 cm"


@given(st.integers(0, 10_000))
def test_turning_and_moving_a_piece_changes_nothing_of_its_tube(seed: int) -> None:
    # the same points anywhere in space, and from the other end
    dice = np.random.default_rng(seed)
    points = np.cumsum(dice.uniform([0.5, 0.0, 0.0], [1.5, 1.0, 1.0], (4, 3)), axis=0)
    turn, _ = np.linalg.qr(dice.normal(size=(3, 3)))
    turn *= np.linalg.det(turn)
    radii = (0.05, 0.08)
    forms = []
    for each, radius in ((points, radii), (points @ turn.T + 3.0, radii), (points[::-1], radii[::-1])):
        shape = Bent(tuple((float(x), float(y), float(z)) for x, y, z in each), radius)
        form = bent_tube(shape)
        assert form is not None
        assert form.length == pytest.approx(path_length(shape))
        forms.append(form)
    for other in forms[1:]:
        assert forms[0].cut_down_to(other) is not None


def test_an_arc_has_no_legs() -> None:
    arc = Arc(2.0, 1.0, 0.0)
    form = bent_tube(arc)
    assert form is not None
    assert (form.text, form.length) == ("0 m, 180 deg at 1 m, 0 m", pytest.approx(path_length(arc)))


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("1.4 m", "1.4 m"),
        ("1.4 m, 180 deg at 1.2 m", "1.4 m, 180 deg at 1.2 m"),
        ("1.4 m, 180 deg, 1.4 m", "180 deg"),
        ("1.4 m, 180 deg at 1.2, 1.4 m", "1.2"),
        ("1.4 m, 0 deg at 1.2 m, 1.4 m", "0 deg at 1.2 m"),
        ("-1 m, 90 deg at 1.2 m, 1.4 m", "-1 m, 90 deg at 1.2 m, 1.4 m"),
    ],
)
def test_what_is_no_bent_tube_is_told(text: str, found: str) -> None:
    with pytest.raises(MakerError) as caught:
        bent_from_text(text)
    (problem,) = caught.value.problems
    assert (problem.code, problem.summary, problem.found) == ("STOCK-005", "this is no bent tube", f'"{found}"')
    assert problem.allowed == 'lengths and bends in turn, such as "1.4 m, 180 deg at 1.2 m, 1.4 m"'


def test_bent_tube_goes_through_plain_files_and_back(tmp_path: Path) -> None:
    lot = NewLot("conduit-1", 4, bent_from_text(HOOP).length, bent=HOOP)
    with open_stock(tmp_path / "stock.db", create=True) as book:
        add_lot(book, lot)
        export_book(book, tmp_path / "out")
    assert read_lots(tmp_path / "out" / "lots.csv") == (lot,)
    (tmp_path / "list.csv").write_text('part,bent\nconduit-1,"1 m, 90 deg, 1 m"\n', encoding="utf-8")
    with pytest.raises(MakerError) as caught:
        read_lots(tmp_path / "list.csv")
    (problem,) = caught.value.problems
    assert (problem.code, problem.summary) == ("STOCK-004", "this is no bent tube")
    assert problem.place is not None
    assert (problem.place.line, problem.place.column) == (2, 12)
