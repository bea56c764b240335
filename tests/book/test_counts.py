"""Two papers that count differently cost the maker a trip to the shop, or a part that is missing at the place."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from xml.etree import ElementTree

import pypdfium2
import pytest

from lampwright.book import handover_card, joints_csv, label_texts, wires_csv
from lampwright.book.wiring import draw_wiring
from lampwright.layout import Layout, lay_out
from lampwright.making import MaterialCuts, cut_all, harnesses_of, shopping_csv, shopping_list
from lampwright.piece import read_piece
from lampwright.units import parse

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/*.toml"))
SVG = "{http://www.w3.org/2000/svg}"
Rows = list[dict[str, str]]


@dataclass(frozen=True)
class Papers:
    """The papers of a piece, each read back from what is written."""

    layout: Layout
    cuts: tuple[MaterialCuts, ...]

    @cached_property
    def bought(self) -> Rows:
        return read(shopping_csv(shopping_list(self.layout, self.cuts)))

    @cached_property
    def wires(self) -> Rows:
        return read(wires_csv(harnesses_of(self.layout, self.cuts)))

    @cached_property
    def joints(self) -> Rows:
        return read(joints_csv(harnesses_of(self.layout, self.cuts)))

    @cached_property
    def drawn(self) -> list[set[str]]:
        """Texts on each circuit's drawing."""
        harnesses = harnesses_of(self.layout, self.cuts)
        found = []
        for circuit, harness in zip(self.layout.circuits, harnesses, strict=True):
            sheets = [ElementTree.fromstring(sheet) for sheet in draw_wiring(self.layout, circuit, harness)]
            found.append({each.text or "" for sheet in sheets for each in sheet.iter(f"{SVG}text")})
        return found

    def needed(self, pattern: str) -> int:
        """Return how many the shopping list says are needed of parts whose name is like this."""
        return sum(int(row["needed"]) for row in self.bought if re.fullmatch(pattern, row["part"]))

    def marks(self, pattern: str) -> int:
        """Return how many marks of this sort, such as F1, stand on all drawings, each once a circuit."""
        said = [set(re.findall(rf"\b{pattern}\d+\b", " ".join(texts))) for texts in self.drawn]
        return sum(len(each) for each in said)


def read(text: str) -> Rows:
    return list(csv.DictReader(io.StringIO(text)))


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda file: file.stem)
def papers(request: pytest.FixtureRequest) -> Papers:
    layout = lay_out(read_piece(request.param))
    return Papers(layout, cut_all(layout))


def test_fuses_are_as_many_on_every_paper(papers: Papers) -> None:
    holders = {(row["circuit"], row["where"]) for row in papers.joints if "fuse holder" in row["what is joined"]} | {
        (row["circuit"], row["where"]) for row in papers.joints if row["where"].startswith("fuse F")
    }
    assert papers.needed(r"fuse-.*") == papers.needed("fuse holder") == papers.marks("F") == len(holders)
    in_wires = Counter(row["circuit"] for row in papers.wires if row["fuse"])
    assert sum(in_wires.values()) == papers.marks("F")


def test_packs_boards_and_runs_are_as_many_on_every_paper(papers: Papers) -> None:
    circuits = papers.layout.circuits
    assert papers.needed("pack-.*") == papers.marks("G") == sum(each.circuit.bank.count for each in circuits)
    assert papers.needed("plug for a pack") == papers.needed("m328p.*") == papers.marks("A(?!4)") == len(circuits)
    assert papers.needed("connector-3-sealed") == papers.marks("X") == sum(len(each.runs) for each in circuits)
    assert papers.needed("cap-.*") == papers.marks("C")


def test_every_pack_board_and_cable_has_its_label_and_the_card_counts_the_packs(papers: Papers) -> None:
    kinds = Counter(label["kind"] for label in label_texts(papers.layout.piece))
    assert kinds["pack"] == papers.needed("pack-.*")
    assert kinds["board"] == papers.needed("m328p.*")
    assert kinds["cable"] == sum(row["what"] == "lead" or " feed at " in row["what"] for row in papers.wires)
    assert kinds["member"] == len(papers.layout.piece.members)
    (page, _) = pypdfium2.PdfDocument(handover_card(papers.layout, "en"))
    said = re.sub(r"\s+", " ", page.get_textpage().get_text_range())
    assert re.search(rf"Plug each battery in: {kinds['pack']} in all", said)


def test_pixels_are_as_many_on_the_drawing_as_are_cut(papers: Papers) -> None:
    drawn = sum(
        int(count)
        for texts in papers.drawn
        for text in texts
        for count in re.findall(r"(?<!of )\b(\d+) pixels\b", text)
    )
    cut = sum(
        each.piece.length
        for material in papers.cuts
        if material.material.kind == "strip"
        for bar in material.plan.bars
        for each in bar.cuts
    )
    assert drawn == cut == sum(each.n_pixel for each in papers.layout.circuits)


def test_wire_is_as_long_in_the_list_as_in_the_cut_plan(papers: Papers) -> None:
    listed = sum(parse(row["cut"], "length") * len(row["colours"].split(", ")) for row in papers.wires)
    pieces = [
        each.piece.length
        for material in papers.cuts
        if material.material.kind == "wire"
        for bar in material.plan.bars
        for each in bar.cuts
    ]
    assert len(pieces) == sum(len(row["colours"].split(", ")) for row in papers.wires)
    assert sum(pieces) / 1000 == pytest.approx(listed, abs=0.006 * len(pieces))  # the list rounds to three digits


def test_every_wire_of_the_list_is_joined_at_both_ends(papers: Papers) -> None:
    """Each conductor of each wire is named twice in the joint list; behind a fuse, its holder once in its place."""
    for circuit in {row["circuit"] for row in papers.wires}:
        joins = "; ".join(row["what is joined"] for row in papers.joints if row["circuit"] == circuit)
        for row in papers.wires:
            if row["circuit"] == circuit:
                for colour in row["colours"].split(", "):
                    named = len(re.findall(rf"\b{row['wire']} {colour}\b", joins))
                    assert named == 2, (circuit, row["wire"], colour)
