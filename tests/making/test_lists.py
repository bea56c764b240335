"""A list misread is a shelf that isn't there."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.making import read_shelf, read_shop
from lampwright.making.lists import ShelfRow
from lampwright.parts import Offer
from lampwright.units import MakerError


def write(folder: Path, text: str) -> Path:
    path = folder / "list.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_rows_are_read_as_written(tmp_path: Path) -> None:
    shelf = read_shelf(write(tmp_path, "part,length,count\ntube,1.2 m,3\n\nfuse-3a,,\n"))
    assert shelf == (ShelfRow("tube", 1.2, 3), ShelfRow("fuse-3a", None, 1))
    shop = read_shop(write(tmp_path, "Part, price ,length,pack,days\ntube,12.5,3 m,,2\ncap,0.40,,10,\n"))
    assert shop == (Offer("tube", 3.0, 1250, 1, 2.0), Offer("cap", None, 40, 10, 0.0))


def test_every_fault_is_told_with_its_place(tmp_path: Path) -> None:
    path = write(tmp_path, "part,length,price\ntube,3,1.234\n,3 m,12 eur\n")
    with pytest.raises(MakerError) as caught:
        read_shop(path)
    problems = caught.value.problems
    assert [(p.code, p.place.line, p.place.column) for p in problems if p.place] == [
        ("MAKING-001", 2, 6),
        ("MAKING-001", 2, 8),
        ("MAKING-001", 3, 1),
        ("MAKING-001", 3, 6),
    ]
    assert problems[1].render() == (
        f"{path}:2:8: error MAKING-001: this is no price\n"
        "    2 | tube,3,1.234\n"
        "      |        ^^^^^\n"
        'found:   "1.234"\n'
        'allowed: an amount such as "12.50", with a point and without a currency\n'
        "do:      write digits, and two after a point   (lampwright explain MAKING-001)"
    )


@pytest.mark.parametrize("name", ["missing.csv", "."])
def test_a_list_that_is_not_there_is_told(name: str, tmp_path: Path) -> None:
    with pytest.raises(MakerError, match=r"MAKING-001: (there is no such file|this is a folder)"):
        read_shelf(tmp_path / name)


def test_a_shelf_that_is_not_there_may_be_a_list_or_a_stock_book(tmp_path: Path) -> None:
    with pytest.raises(MakerError) as caught:
        read_shelf(tmp_path / "nope.db")
    assert caught.value.problems[0].allowed == "a CSV file in UTF-8, or a stock book"


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_a_list_from_a_spreadsheet_with_decimal_commas_is_read(delimiter: str, tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    rows = ["part;length;price;pack", "ws2812b-60;1,5 m;12,50;", "fuse-3a;;0,40;10"]
    path.write_bytes(b"\xef\xbb\xbf" + "\r\n".join(rows).replace(";", delimiter).encode())
    assert read_shop(path) == (Offer("ws2812b-60", 1.5, 1250, 1, 0.0), Offer("fuse-3a", None, 40, 10, 0.0))
    path.write_text("part;length\nws2812b-60;1,5,2 m\n", encoding="utf-8")
    with pytest.raises(MakerError) as caught:
        read_shelf(path)
    (problem,) = caught.value.problems
    assert problem.found == '"1,5,2 m"'
    assert problem.place is not None
    assert (problem.place.line, problem.place.column) == (2, 12)


@given(st.text(max_size=80))
def test_no_text_does_anything_but_be_read_or_refused(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    path = tmp_path_factory.mktemp("any") / "list.csv"
    path.write_bytes(("part,length,price\n" + text).encode("utf-8", "replace"))
    try:
        read_shop(path)
    except MakerError as error:
        assert {problem.code for problem in error.problems} == {"MAKING-001"}
