"""What lies on the shelf and for whom it is kept: two pieces must never count on the same part."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.stock import (
    CONDITIONS,
    NewLot,
    Rest,
    StockBook,
    add_lot,
    add_lots,
    back_up,
    count_lot,
    export_book,
    find_lots,
    free_lots,
    history,
    issue,
    left_over,
    lot_of,
    measure_lot,
    open_stock,
    release,
    reservations,
    reserve,
    restore,
    take_from,
)
from lampwright.stock.plain import read_lots
from lampwright.units import MakerError

LOT = NewLot("ws2812b-60", 3, length=2.0, place="box 3", cost=1250, origin="Frost Gate", joints=1, sleeve="whole")


@pytest.fixture
def book(tmp_path: Path) -> Iterator[StockBook]:
    with open_stock(tmp_path / "stock.db", create=True) as opened:
        yield opened


def test_a_lot_is_found_again_as_it_was_booked_in(book: StockBook) -> None:
    number = add_lot(book, LOT)
    assert lot_of(book, number).what == LOT
    assert find_lots(book, "ws2812b-60")[0].number == number
    assert find_lots(book, "ws2812b-30") == ()


def test_what_happens_to_a_lot_is_written_down(book: StockBook) -> None:
    number = add_lot(book, LOT)
    take_from(book, number, 1, "for the window")
    count_lot(book, number, 5)
    measure_lot(book, number, replace(LOT, condition="worn", count=99), "condition")
    assert [(each.what, each.count) for each in history(book, number)] == [
        ("added", 3),
        ("taken", -1),
        ("counted", 3),
        ("measured", 0),
    ]
    lot = lot_of(book, number)
    assert (lot.what.condition, lot.what.count) == ("worn", 5)


def test_two_pieces_cant_have_the_same_part(book: StockBook) -> None:
    number = add_lot(book, LOT)
    reserve(book, "Frost Gate", {number: 2})
    assert [lot.what.count for lot in free_lots(book)] == [1]
    assert [lot.what.count for lot in free_lots(book, "Frost Gate")] == [3]
    with pytest.raises(MakerError, match="spoken for by another piece"):
        reserve(book, "Helm Mast", {number: 2})
    reserve(book, "Helm Mast", {number: 1})
    assert free_lots(book) == ()
    with pytest.raises(MakerError, match="has too few"):
        take_from(book, number, 1)
    with pytest.raises(MakerError, match="has too few"):
        count_lot(book, number, 2)


def test_the_file_itself_refuses_what_a_program_forgets_to_check(book: StockBook) -> None:
    number = add_lot(book, LOT)
    reserve(book, "Frost Gate", {number: 2})
    with pytest.raises(MakerError, match="more is spoken for"), book.change() as connection:
        connection.execute("INSERT INTO reservation VALUES ('other', ?, 2, '')", (number,))
    with pytest.raises(MakerError, match="more is spoken for"), book.change() as connection:
        connection.execute("UPDATE lot SET count = 1 WHERE number = ?", (number,))
    with pytest.raises(sqlite3.IntegrityError), book.change() as connection:
        connection.execute("INSERT INTO reservation VALUES ('other', 77, 1, '')")
    assert [each.count for each in reservations(book)] == [2]


def test_reserving_anew_replaces_what_was_kept_and_a_failure_changes_nothing(book: StockBook) -> None:
    one, other = add_lot(book, LOT), add_lot(book, replace(LOT, part="pack-10ah-2a", length=None))
    reserve(book, "Frost Gate", {one: 3})
    with pytest.raises(MakerError):
        reserve(book, "Frost Gate", {other: 1, one: 4})
    assert [(each.lot.number, each.count) for each in reservations(book)] == [(one, 3)]
    reserve(book, "Frost Gate", {other: 1})
    assert [(each.lot.number, each.count) for each in reservations(book)] == [(other, 1)]


def test_what_is_issued_leaves_the_shelf_and_what_is_released_stays(book: StockBook) -> None:
    number = add_lot(book, LOT)
    reserve(book, "Frost Gate", {number: 2})
    issue(book, "Frost Gate")
    assert lot_of(book, number).what.count == 1
    reserve(book, "Helm Mast", {number: 1})
    release(book, "Helm Mast")
    assert lot_of(book, number).free == 1
    with pytest.raises(MakerError, match="nothing is reserved"):
        issue(book, "Helm Mast")


def test_what_is_left_of_a_length_stays_on_the_shelf(book: StockBook) -> None:
    number = add_lot(book, replace(LOT, note="from the reel's end"))
    rest = Rest(number, 0.5)
    reserve(book, "Frost Gate", {number: 2}, [rest, rest])
    assert left_over(book, "Frost Gate") == ((rest, 2),)
    issue(book, "Frost Gate")
    left, kept = find_lots(book, "ws2812b-60")[::-1]
    assert kept.what == replace(LOT, count=1, note="from the reel's end")
    note = f"left of lot {number}; from the reel's end"
    assert left.what == replace(LOT, count=2, length=0.5, cost=312, note=note)  # a quarter of 12.50
    assert [each.what for each in history(book, left.number)] == ["left over"]
    # released or planned anew, nothing of it comes to be
    reserve(book, "Helm Mast", {number: 1}, [rest])
    release(book, "Helm Mast")
    reserve(book, "Helm Mast", {number: 1})
    issue(book, "Helm Mast")
    assert len(find_lots(book)) == 1


def test_what_is_untested_or_broken_is_not_planned_with(book: StockBook) -> None:
    for condition in CONDITIONS:
        add_lot(book, replace(LOT, condition=condition))
    assert {lot.what.condition for lot in free_lots(book)} == {"new", "good", "worn"}


texts = st.text(st.characters(exclude_categories=["C", "Z"]), max_size=12)
lots = st.builds(
    NewLot,
    part=texts.filter(bool),
    count=st.integers(1, 999),
    length=st.none() | st.integers(1, 99999).map(lambda mm: mm / 1000),
    place=texts,
    cost=st.none() | st.integers(0, 10**6),
    condition=st.sampled_from(CONDITIONS),
    note=texts,
    joints=st.integers(0, 9),
    cycles=st.none() | st.integers(0, 500).map(float),
)


@settings(max_examples=25)
@given(st.lists(lots, max_size=5))
def test_what_is_exported_can_be_brought_in_again(tmp_path_factory: pytest.TempPathFactory, many: list[NewLot]) -> None:
    folder = tmp_path_factory.mktemp("plain")
    with open_stock(folder / "one.db", create=True) as book:
        for lot in many:
            add_lot(book, lot)
        export_book(book, folder / "out")
    back = read_lots(folder / "out" / "lots.csv")
    rounded = [lot if lot.length is None else replace(lot, length=round(lot.length, 3)) for lot in back]
    assert sorted(map(repr, rounded)) == sorted(map(repr, many))


def test_a_list_with_a_fault_books_nothing_in(book: StockBook, tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text("part,count,condition,capacity\nfuse-3a,2,good,\nwire,x,shiny,9 A\n", encoding="utf-8")
    with pytest.raises(MakerError) as caught:
        add_lots(book, read_lots(path))
    assert {(p.code, p.place.line, p.place.column) for p in caught.value.problems if p.place} == {
        ("STOCK-004", 3, 6),
        ("STOCK-004", 3, 8),
        ("STOCK-004", 3, 14),
    }
    assert find_lots(book) == ()


def test_a_backup_brings_everything_back(book: StockBook, tmp_path: Path) -> None:
    number = add_lot(book, LOT)
    reserve(book, "Frost Gate", {number: 2})
    back_up(book, tmp_path / "saved.db")
    take_from(book, number, 1)
    book.close()
    kept = restore(tmp_path / "saved.db", tmp_path / "stock.db")
    assert kept is not None
    with open_stock(tmp_path / "stock.db") as again, open_stock(kept) as before:
        assert lot_of(again, number).what == LOT
        assert [each.count for each in reservations(again)] == [2]
        assert lot_of(before, number).what.count == 2  # and what stood there isn't lost
    (tmp_path / "bad.db").write_text("no book", encoding="utf-8")
    with pytest.raises(MakerError, match="is no backup"):
        restore(tmp_path / "bad.db", tmp_path / "stock.db")


def test_a_backup_replaces_an_older_one_and_never_a_piece_file(book: StockBook, tmp_path: Path) -> None:
    back_up(book, tmp_path / "saved.db")
    number = add_lot(book, LOT)
    back_up(book, tmp_path / "saved.db")
    with open_stock(tmp_path / "saved.db") as saved:
        assert lot_of(saved, number).what == LOT
    piece = tmp_path / "garden.toml"
    piece.write_text("[brief]\n", encoding="utf-8")
    for path, found in ((piece, "a file that is no stock book"), (tmp_path, "a folder")):
        with pytest.raises(MakerError) as caught:
            back_up(book, path)
        assert [(each.code, each.found) for each in caught.value.problems] == [("STOCK-002", found)]
    assert piece.read_text(encoding="utf-8") == "[brief]\n"
