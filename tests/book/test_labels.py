"""An unlabelled cable is plugged into the wrong arch in the dark."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pypdfium2

from lampwright.book import label_sheets, label_texts
from lampwright.piece import read_piece
from lampwright.piece.model import Bank

GATE = Path(__file__).parents[2] / "examples" / "frost-gate" / "frost-gate.toml"


def test_every_pack_board_cable_and_member_has_its_label() -> None:
    piece = read_piece(GATE)
    labels = list(label_texts(piece))
    assert [label["title"] for label in labels if label["kind"] == "pack"] == [f"arch {n}" for n in range(1, 5)]
    assert sum(label["kind"] == "cable" for label in labels) == 4 + 4 * 3 + 3 * 2
    assert sum(label["kind"] == "member" for label in labels) == 4
    assert [label["title"] for label in labels if "fuse 3 A" in str(label["note"])] == [
        f"arch {n} lead" for n in range(1, 5)
    ]
    book = pypdfium2.PdfDocument(label_sheets(piece))
    assert len(book) == -(-len(labels) // 24)
    text = " ".join(page.get_textpage().get_text_range() for page in book)
    for label in labels:
        assert str(label["title"]) in text


def test_a_sheet_is_a4_and_a_label_stays_within_its_own() -> None:
    page = pypdfium2.PdfDocument(label_sheets(read_piece(GATE)))[0]
    width, height = page.get_size()
    assert (round(width / 72 * 25.4), round(height / 72 * 25.4)) == (210, 297)
    texts = page.get_textpage()
    column = width / 3
    for index in range(texts.count_rects()):
        left, _, right, _ = texts.get_rect(index)
        assert int(left // column) == int(right // column)


def test_each_of_several_packs_has_a_label_of_its_own() -> None:
    piece = read_piece(GATE)
    paired = tuple(dataclasses.replace(each, bank=Bank(2)) for each in piece.circuits[:1])
    labels = label_texts(dataclasses.replace(piece, circuits=paired))
    titles = [label["title"] for label in labels if label["kind"] == "pack"]
    assert titles == [
        "arch 1, pack 1 of 2",
        "arch 1, pack 2 of 2",
    ]
