"""Frost Gate struck, then planned once more: what came back is used, costs less, and is known better."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path

import pytest

from lampwright.faults import learned_rates, work_out_odds
from lampwright.faults.every import Body, embody
from lampwright.faults.kinds import FaultKind, Place, all_kinds
from lampwright.layout import Layout, lay_out
from lampwright.making import MaterialCuts, ShelfRow, cut_all, read_shelf, shopping_list, use_of_shelf
from lampwright.piece import read_piece
from lampwright.stock import book_in, find_lots, free_lots, issue, lot_of, open_stock, reserve, seen_so_far
from lampwright.strike import Entry, FormFailure, form_csv, form_of, inspect, read_form, reclaim

GATE = Path(__file__).parents[2] / "examples" / "frost-gate" / "frost-gate.toml"
DAMAGE = {
    ("arch 1", "hoop, arch 1, pixels 0 to 345"): Entry("dead pixel", "131"),
    ("arch 1", "garland, arch 1 crown to arch 2 crown, pixels 0 to 112"): Entry("parted", "96"),
    ("arch 3", "pack"): Entry("flat", "", "172"),
    ("", "arch 4"): Entry("leaned or fell"),
}
"""Invented, as the docs have it."""


@pytest.fixture(scope="module")
def gate() -> Layout:
    return lay_out(read_piece(GATE))


@pytest.fixture(scope="module")
def body(gate: Layout) -> Body:
    return embody(gate)


@pytest.fixture(scope="module")
def failures(gate: Layout, body: Body, tmp_path_factory: pytest.TempPathFactory) -> Sequence[FormFailure]:
    form = form_of(gate, body)
    path = tmp_path_factory.mktemp("form") / "inspection.csv"
    path.write_text(form_csv(form.rows, {thing: [entry] for thing, entry in DAMAGE.items()}), encoding="utf-8")
    return read_form(path, form)


@pytest.fixture(scope="module")
def stock(gate: Layout, body: Body, failures: Sequence[FormFailure], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The book after the first Frost Gate was struck."""
    path = tmp_path_factory.mktemp("stock") / "stock.db"
    inspection = inspect(body, [each.failure for each in failures], datetime.date(2026, 12, 21), nights=2, hours=6.4)
    with open_stock(path, create=True) as book:
        book_in(book, inspection, reclaim(gate, failures, nights=2).lots)
    return path


@pytest.fixture(scope="module")
def shelf(stock: Path) -> tuple[ShelfRow, ...]:
    return read_shelf(stock, "Frost Gate again")


@pytest.fixture(scope="module")
def second(gate: Layout, shelf: tuple[ShelfRow, ...]) -> tuple[MaterialCuts, ...]:
    return cut_all(gate, shelf)


def plan_of(cuts: Sequence[MaterialCuts], kind: str) -> MaterialCuts:
    (found,) = [each for each in cuts if each.material.kind == kind]
    return found


def test_all_four_things_of_the_form_are_read(failures: Sequence[FormFailure]) -> None:
    assert [each.failure.how for each in failures] == ["dead pixel", "parted", "flat", "leaned or fell"]


def test_three_hoops_stand_again_and_only_the_fourth_is_bent_anew(second: Sequence[MaterialCuts]) -> None:
    tube = plan_of(second, "tube")
    again = [bar for bar in tube.plan.bars if bar.stock.tube is not None]
    assert [bar.cuts[0].piece.name for bar in again] == ["arch 1", "arch 2", "arch 3"]
    assert all(bar.rests == () and bar.stock.lot is not None for bar in again)
    assert all("arch 4" in cut.piece.name for bar in tube.plan.bars if bar not in again for cut in bar.cuts)


def test_reclaimed_strip_is_cut_first(second: Sequence[MaterialCuts], stock: Path) -> None:
    strip = plan_of(second, "strip")
    bought = [bar for bar in strip.plan.bars if bar.stock.lot is None]
    lots = [bar.stock.lot for bar in strip.plan.bars if bar.stock.lot is not None]
    assert len(bought) == 1
    assert len(lots) == len(set(lots)) == 6
    with open_stock(stock) as book:
        assert {lot_of(book, lot).what.origin for lot in lots} == {"Frost Gate"}
    # pixels that failed are in none of them: 131 and the one at which the garland parted
    assert sum(bar.stock.length for bar in strip.plan.bars if bar.stock.lot is not None) <= 4 * 346 + 3 * 113 - 2


def test_the_second_time_costs_less(gate: Layout, second: Sequence[MaterialCuts], shelf: tuple[ShelfRow, ...]) -> None:
    before, after = shopping_list(gate, cut_all(gate)), shopping_list(gate, second, shelf)
    assert after.total < 0.6 * before.total
    tube = [sum(line.total or 0 for line in each.lines if line.kind == "tube") for each in (before, after)]
    assert tube[1] <= tube[0] / 3
    packs = next(line for line in after.lines if line.kind == "pack")
    assert (packs.on_shelf, packs.buy) == (3, 2)  # the flat one is tested first


def test_what_was_learned_moves_the_odds_the_way_it_was_seen(body: Body, stock: Path) -> None:
    with open_stock(stock) as book:
        seen = seen_so_far(book)
    rates = learned_rates(seen)
    for kind in (FaultKind.PACK_EMPTY, FaultKind.POST_DOWN):
        assert rates[kind].mean > all_kinds()[kind].rate.mean
    # on the arch a pixel died, in the garland none
    judged_pixel = all_kinds()[FaultKind.PIXEL_DEAD].rate.mean
    assert rates[FaultKind.PIXEL_DEAD, Place.FIXED].mean > judged_pixel > rates[FaultKind.PIXEL_DEAD, Place.FREE].mean
    for kind in (FaultKind.PLUG_OUT, FaultKind.BOARD_DEAD, FaultKind.SPAN_TORN):
        assert rates[kind].mean < all_kinds()[kind].rate.mean
    judged, learned = work_out_odds(body), work_out_odds(body, rates)
    assert learned.holds != pytest.approx(judged.holds, abs=1e-5)


def test_what_is_cut_off_stays_on_the_shelf_when_it_is_issued(
    gate: Layout, shelf: tuple[ShelfRow, ...], stock: Path
) -> None:
    use = use_of_shelf(gate, shelf)
    with open_stock(stock) as book:
        before = {lot.number: lot.what for lot in find_lots(book)}
        reserve(book, "Frost Gate again", use.lots, use.rests)
        assert not {lot.number for lot in free_lots(book, "Snow Gate")} & {
            number for number, count in use.lots.items() if count == before[number].count
        }
        issue(book, "Frost Gate again")
        new = [lot for lot in find_lots(book) if lot.number not in before]
    assert sorted(lot.what.length or 0.0 for lot in new) == sorted(rest.length for rest in set(use.rests))
    assert sum(lot.what.count for lot in new) == len(use.rests)
