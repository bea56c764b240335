"""A book with a lost line, an empty page or another figure than the check's is built from all the same."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp

from lampwright.book.bound import PARTS, Contents, FirmwareIdentity, Money, bind_book
from lampwright.book.bound.run_sheet import clock, run_rows
from lampwright.findings import Finding, Severity
from lampwright.layout import Layout, lay_out
from lampwright.making import cut_all, harnesses_of, shopping_list
from lampwright.piece import piece_from_text, read_piece
from tests.small_piece import small_piece

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*/*.toml"))
TEXT_PARTS = tuple(part for part in PARTS if part not in ("drawing", "cuts", "wiring"))
HASH = "0123456789abcdef" * 4

FOUND = (
    Finding("POWER-001", Severity.PASS, "post", "peak draw", "1.23 A", "at most 2.4 A", 0.49, ""),
    Finding(
        "POWER-010", Severity.WARN, "post", "lowest supply", "4.41 V", "at least 4.5 V", -0.02, "feed it at its end"
    ),
)


def contents_of(layout: Layout) -> Contents:
    cuts = cut_all(layout)
    firmware = [
        FirmwareIdentity(each.circuit.name, HASH, "SHA-256 of firmware.hex", "1 of 2") for each in layout.circuits
    ]
    bought = shopping_list(layout, cuts)
    harnesses = harnesses_of(layout, cuts)
    return Contents(layout, HASH, "1.2.3", cuts, harnesses, bought, Money("EUR", 100.0), FOUND, firmware)


@pytest.fixture(scope="module")
def small() -> Contents:
    return contents_of(lay_out(piece_from_text(small_piece(), Path("small.toml"))))


@pytest.fixture(scope="module")
def whole(small: Contents) -> bytes:
    return bind_book(small)


def pages(pdf: bytes) -> list[str]:
    return [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf)]


def squeezed(text: str) -> str:
    """Return a text without the breaks that setting put into it."""
    return re.sub(r"\s", "", text.replace("\ufffe", "-"))


def assert_well_set(pdf: bytes) -> None:
    for number, page in enumerate(pypdfium2.PdfDocument(pdf), start=1):
        texts = page.get_textpage()
        assert len(squeezed(texts.get_text_range())) > 60, f"page {number} is empty"
        width, height = page.get_size()
        for index in range(texts.count_rects()):
            left, bottom, right, top = texts.get_rect(index)
            assert left > 15, number
            assert right < width - 15, number
            assert 0 < bottom <= top < height, number


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_no_text_leaves_its_page_and_no_page_is_empty(file: Path) -> None:
    assert_well_set(bind_book(contents_of(lay_out(read_piece(file))), TEXT_PARTS))


def test_whole_book_is_well_set(whole: bytes) -> None:
    assert_well_set(whole)


def test_names_of_any_length_stay_on_the_page() -> None:
    text = small_piece().replace('"Small"', '"' + "Winterwald " * 8 + '"').replace('"bench"', '"#set page <b>&"')
    assert_well_set(bind_book(contents_of(lay_out(piece_from_text(text, Path("long.toml"))))))


def test_contents_name_the_page_on_which_each_part_is(whole: bytes) -> None:
    told = pages(whole)
    parts = dict(re.findall(r"(?m)^([A-Z][A-Za-z ]+?)\s*[ .]*\s(\d+)\s*$", told[1]))
    headings = {
        "Cautions": "Cautions",
        "Drawing": "Plan",
        "Parts": "sold as",
        "Cuts": "Marks are measured",
        "Wiring": "wiring of post",
        "Wires and joints": "what is joined",
        "Bench test": "from pack",
        "Firmware": "Compare before flashing",
        "Run sheet": "by the clock",
        "Setting up": "Forecast read",
        "Handover card": "Switch on",
        "Inspection after the show": "Inspected by",
        "Checks": "what to do",
    }
    assert set(parts) >= set(headings)
    for title, said in headings.items():
        assert squeezed(said) in squeezed(told[int(parts[title]) - 1]), title


def test_checks_stand_in_the_book_as_they_are(whole: bytes) -> None:
    text = squeezed("".join(pages(whole)))
    for each in FOUND:
        margin = f"{100 * (each.margin or 0):.0f} %"
        row = (each.code, each.subject, each.summary, each.severity.value, each.value, each.limit, margin, each.do)
        assert squeezed("".join(row)) in text


def test_qr_code_holds_the_hash_of_the_piece_file(whole: bytes) -> None:
    picture = pypdfium2.PdfDocument(whole)[0].render(scale=3, grayscale=True).to_pil()
    (found,) = zxingcpp.read_barcodes(picture)
    assert found.text == f"Small\nsmall.toml\nsha256 {HASH}"
    assert squeezed(HASH) in squeezed(pages(whole)[0])


def test_the_same_piece_gives_the_same_book(small: Contents, whole: bytes) -> None:
    assert bind_book(small) == whole
    assert bind_book(replace(small, piece_hash="f" * 64)) != whole


@pytest.mark.parametrize("part", PARTS)
def test_each_part_comes_alone(part: str, small: Contents) -> None:
    followed: list[int] = []
    told = pages(bind_book(small, (part,), followed.append))
    assert "Contents" not in told[0]
    assert followed == [1, 2]


def test_every_joint_and_wire_has_its_row(small: Contents) -> None:
    text = squeezed("".join(pages(bind_book(small, ("joints",)))))
    for harness in small.harnesses:
        for row in harness.joints:
            assert squeezed(row.mark + row.where) in text
        for wire in harness.wires:
            assert wire.mark in text


def test_a_book_of_a_piece_that_fails_says_so_on_its_cover(small: Contents, whole: bytes) -> None:
    failed = replace(small, findings=[replace(FOUND[0], severity=Severity.FAIL)], firmware=[])
    told = pages(bind_book(failed))
    assert "build nothing by this book" in told[0]
    assert "build nothing by this book" not in pages(whole)[0]
    assert any("No firmware was made" in page for page in told)


def test_run_sheet_adds_up() -> None:
    piece = read_piece(next(file for file in EXAMPLES if file.stem == "frost-gate"))
    rows = run_rows(piece)
    # standby of 10 min, then cues of 1.5, 2, 2, 20, 12, 20, 20 and 12.5 min: 90 min in all
    assert [row[0] for row in rows] == [
        "00:00:00", "00:10:00", "00:11:30", "00:13:30", "00:15:30", "00:35:30", "00:47:30", "01:07:30", "01:27:30",
        "01:40:00", "03:10:00",
    ]  # fmt: skip
    assert rows[1][1] == "cue 1: rime-road"
    assert clock(3661.0) == "01:01:01"


def test_shopping_in_the_book_is_the_shopping_list(small: Contents) -> None:
    text = squeezed("".join(pages(bind_book(small, ("parts",)))))
    for line in small.bought.lines:
        assert squeezed(f"{line.buy}{line.part}") in text
    assert squeezed(f"total {small.bought.total / 100:.2f} EUR; worth {small.bought.reclaimable / 100:.2f}") in text
    left = 100 - small.bought.total / 100
    assert squeezed(f"{left:.2f} left" if left >= 0 else f"{-left:.2f} over") in text
