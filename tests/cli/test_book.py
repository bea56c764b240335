"""The book says what the check says, from the file to the page."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path

import pypdfium2
import pytest

from lampwright.findings.grouping import margin_text
from lampwright.piece import Piece, read_piece
from tests.cli.conftest import Command


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text.replace("\ufffe", "-"))


def test_every_figure_of_the_book_is_the_checks(lampwright: Command, folder: Path) -> None:
    checked = json.loads(lampwright("check", "small.toml", "--json").out)
    done = lampwright("book", "small.toml")
    assert done.code == 0, done.err
    text = squeezed("".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument("out/book.pdf")))
    assert checked["findings"]
    for row in checked["findings"]:
        cells = (row["checked"], row["result"], row["value"], row["limit"], margin_text(row["margin"]), row["do"])
        assert squeezed("".join(cells)) in text, row
        assert f"{row['code']}{squeezed(row['about'])}" in text
    built = hashlib.sha256(next((folder / "out").glob("*/build/*.hex")).read_bytes()).hexdigest()
    assert built in text
    assert hashlib.sha256((folder / "small.toml").read_bytes()).hexdigest() in text
    for name in ("handover-en.pdf", "handover-de.pdf", "labels.pdf", "bench-test.pdf"):
        assert (folder / "out" / "papers" / name).is_file()
    assert (folder / "out" / "shopping.csv").is_file()


def test_one_part_needs_no_check(lampwright: Command, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("lampwright.cli.book.sign_off", None)
    done = lampwright("book", "small.toml", "--only", "wiring", "--only", "run")
    assert (done.code, done.err) == (0, "")
    assert (folder / "out" / "book-wiring-run.pdf").is_file()


def test_an_unknown_part_is_told_with_those_there_are(lampwright: Command) -> None:
    done = lampwright("book", "small.toml", "--only", "wirin")
    assert done.code == 2
    assert 'Did you mean "wiring"' in done.err


def test_a_stock_books_measured_parts_count_as_in_the_check(
    lampwright: Command, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[Path | None] = []

    def spy(path: Path, shelf: Path | None) -> Piece:
        read.append(shelf)
        return read_piece(path)

    monkeypatch.setattr("lampwright.cli.book.read_with_measured", spy)
    (folder / "shelf.csv").write_text("part,length,count\nsolder,,1\n", encoding="utf-8")
    assert lampwright("book", "small.toml", "--only", "parts", "--shelf", "shelf.csv").code == 0
    monkeypatch.setattr("lampwright.cli.book.is_stock_book", lambda path: True)
    assert lampwright("book", "small.toml", "--only", "parts", "--shelf", "shelf.csv").code == 0
    assert read == [None, Path("shelf.csv")]  # a list measures nothing
