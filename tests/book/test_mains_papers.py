"""Papers that speak of packs where supplies stand send the crew looking for batteries that aren't there."""

from __future__ import annotations

import re
from pathlib import Path

import pypdfium2
import pytest

from lampwright.book import bench_sheets, card_text, handover_card, label_sheets, languages
from lampwright.book.bound import PARTS, bind_book
from lampwright.book.drawing import PAPERS, draw_piece
from lampwright.book.wiring import draw_wiring
from lampwright.layout import Layout, lay_out
from lampwright.making import cut_all, harnesses_of, shopping_list
from lampwright.making.week import tasks_of
from lampwright.piece import piece_from_text
from tests.book.bound.test_book import contents_of
from tests.small_piece import small_piece

PACKS = re.compile(r"\b(packs?(?! of)|batter(y|ies)|Akkus?|UN 38\.3|[Ll]ithium)\b")
"""Words that have no place on a mains piece; "pack of 10" is how fuses are sold."""

OTHER = """\
[[circuit]]
name = "other"
pack = "pack-20ah-2a4"
board = "m328p-16mhz-crystal"
[[circuit.run]]
name = "strip"
strip = "ws2812b-30"
pin = "PD6"
[[circuit.run.section]]
on = "post"

[standby]
"""


def on_mains(*, mixed: bool = False) -> Layout:
    supply = 'supply = "supply-4a"\noutlet = "left wall"\ncurrent_cap = "1.5 A"'
    text = small_piece().replace('pack = "pack-20ah-2a4"', supply)
    text = text.replace("[standby]\n", OTHER, 1) if mixed else text
    return lay_out(piece_from_text(text, Path("mains.toml")))


@pytest.fixture(scope="module")
def layout() -> Layout:
    return on_mains()


def text_of(pdf: bytes) -> str:
    return " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf))


def test_no_page_of_the_book_speaks_of_packs(layout: Layout) -> None:
    whole = text_of(bind_book(contents_of(layout), [part for part in PARTS if part != "checks"]))
    assert PACKS.search(whole.replace("label and pack", "")) is None
    for told in (
        "5 V 4 A desk-top supply",
        "listed or certified",
        "its residual-current device was tried",
        "never opened",
    ):
        assert re.sub(r"\s", "", told) in re.sub(r"\s", "", whole), told


def test_labels_and_bench_sheets_name_the_supply_and_its_outlet(layout: Layout) -> None:
    labels = text_of(label_sheets(layout.piece))
    assert 'outlet "left wall"' in re.sub(r"\s+", " ", labels)
    bench = text_of(bench_sheets(layout))
    assert "from supply" in bench
    assert PACKS.search(labels + bench) is None


@pytest.mark.parametrize("language", languages())
def test_the_card_tells_how_to_unplug_the_mains_and_never_to_open(layout: Layout, language: str) -> None:
    card = handover_card(layout, language)
    assert PACKS.search(text_of(card)) is None
    assert len(pypdfium2.PdfDocument(card)) == 2
    both = card_text(on_mains(mixed=True), language)
    plug = both["plug"]
    assert isinstance(plug, list)
    assert len(re.findall(r": 1\.", plug[0])) == 2  # one battery, one supply
    assert len(pypdfium2.PdfDocument(handover_card(on_mains(mixed=True), language))) == 2


def test_the_drawings_show_a_supply_with_its_mains_side_shut(layout: Layout) -> None:
    cuts = cut_all(layout)
    (harness,) = harnesses_of(layout, cuts)
    sheets = "".join((*draw_wiring(layout, layout.circuits[0], harness), *draw_piece(layout, PAPERS["A4"])))
    assert "behind an RCD" in sheets
    assert "its mains side stays closed" in sheets
    assert "supply, by its run" in sheets
    assert PACKS.search(sheets) is None
    lead = next(wire for wire in harness.wires if wire.label.endswith("lead"))
    assert (lead.start, lead.end) == ("supply", "hub")


def test_a_supply_is_bought_and_looked_over(layout: Layout) -> None:
    cuts = cut_all(layout)
    bought = shopping_list(layout, cuts)
    lines = {line.part: line for line in bought.lines}
    assert (lines["supply-4a"].kind, lines["supply-4a"].needed) == ("supply", 1)
    assert lines["plug for a supply"].price is not None
    assert "plug for a pack" not in lines
    tasks = {task.name: task for task in tasks_of(layout, cuts, bought, {}, {})}
    assert "packs, boards and small parts arrive" not in tasks
    assert tasks["load firmware"].after == ("supplies, boards and small parts arrive",)
    assert "look over supplies and mains leads" in tasks["bench test"].after
    assert "agree on outlets with the house" in tasks["take it there"].after
