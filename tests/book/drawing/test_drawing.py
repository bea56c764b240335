"""A drawing with a wrong figure is built as drawn; one that can't be read isn't built from at all."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations, pairwise
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pypdfium2
import pytest
from PIL import ImageFont

from lampwright.book.drawing import PAPERS, Paper, draw_piece, drawing_pdf
from lampwright.book.drawing.figure import circuit_style, thinned
from lampwright.book.drawing.sheet import Box, text_width
from lampwright.book.drawing.subject import letter
from lampwright.book.drawing.views import FRONT, ISOMETRIC, PLAN, SIDE
from lampwright.layout import Layout, lay_out
from lampwright.piece import piece_from_text, read_piece

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*/*.toml"))
EVERY = pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
EVERY_PAPER = pytest.mark.parametrize("paper", PAPERS.values(), ids=lambda paper: paper.name)
SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Text:
    """A text on a sheet and the box that a common face gives it."""

    said: str
    box: Box


def texts(sheet: str) -> list[Text]:
    """Read a sheet back, measured by the face that Pillow ships and not by the drawing's own widths."""
    found = []
    for element in ElementTree.fromstring(sheet).iter(f"{SVG}text"):
        x, y, size = (float(element.attrib[key]) for key in ("x", "y", "font-size"))
        said = element.text or ""
        width = ImageFont.load_default(100).getlength(said) * size / 100
        before = {"start": 0.0, "middle": width / 2, "end": width}[element.attrib["text-anchor"]]
        if "transform" in element.attrib:
            box = Box(x - 0.7 * size, y - width + before, x, y + before)
        else:
            box = Box(x - before, y - 0.7 * size, x - before + width, y)
        found.append(Text(said, box))
    return found


def said(sheets: tuple[str, ...]) -> list[str]:
    return [text.said for sheet in sheets for text in texts(sheet)]


@pytest.fixture(scope="module")
def drawn() -> Callable[[Path, str], tuple[str, ...]]:
    made: dict[tuple[Path, str], tuple[str, ...]] = {}

    def draw(file: Path, paper: str) -> tuple[str, ...]:
        if (file, paper) not in made:
            made[file, paper] = draw_piece(lay_out(read_piece(file)), PAPERS[paper])
        return made[file, paper]

    return draw


Drawn = Callable[[Path, str], tuple[str, ...]]


def example(name: str) -> Path:
    return next(file for file in EXAMPLES if file.stem == name)


@EVERY_PAPER
@EVERY
def test_no_two_texts_lie_on_one_another_and_none_leaves_the_frame(file: Path, paper: Paper, drawn: Drawn) -> None:
    for sheet in drawn(file, paper.name):
        frame = Box(20.0, 10.0, paper.width - 10.0, paper.height - 10.0)  # the left margin is for binding
        found = texts(sheet)
        assert len(found) > 10
        for text in found:
            assert frame.holds(text.box), text
        for one, other in combinations(found, 2):
            assert not one.box.overlaps(other.box), (one, other)


@pytest.mark.parametrize(
    ("name", "figures"),
    [
        # 2.4 m wide, 2.6 m high, 1.8 m apart, garlands with a sag of 0.1 m whose lowest point is at 2.5 m
        ("frost-gate", {"2400": 2, "2600": 2, "2500": 2, "5400": 2, "1800": 3, "3 × span 1800, sag 100": 1}),
        # 12 ft is 3657.6 mm; a ring of 2.2 m: 1.1 and 2.2 m along x, twice 1905.3 mm along y
        ("helm-mast", {"3658": 2, "800": 2, "1100": 1, "2200": 1, "3300": 2, "1905": 2, "3811": 2}),
        # five rails of 3 × 0.3 m, 0.3 m apart, under battens 3.4 m high
        ("reed-curtain", {"900": 5, "300": 4, "5700": 2, "3400": 2}),
        # 5 ft 6 in leaning 8 degrees, held at 900 mm 2 ft above its foot: that is 609.6 cos 8° lower, 296; the top is
        # 1676.4 cos 8° above it, at 1956; the last top leans 233 mm further out than the first foot
        ("slow-procession", {"1600": 5, "1956": 2, "296": 2, "8233": 2}),
    ],
)
def test_the_figures_are_the_pieces(name: str, figures: dict[str, int], drawn: Drawn) -> None:
    views = [text.said for text in texts(drawn(example(name), "A3")[0])]
    assert {figure: views.count(figure) for figure in figures} == figures


@EVERY
def test_what_a_dimension_says_is_how_long_it_is_drawn(file: Path, drawn: Drawn) -> None:
    sheet = drawn(file, "A3")[0]
    scale = int(next(re.fullmatch(r"1:(\d+).*", each)[1] for each in said((sheet,)) if each.startswith("1:")))
    lines = [
        [tuple(float(value) for value in pair.split(",")) for pair in element.attrib["points"].split()]
        for element in ElementTree.fromstring(sheet).iter(f"{SVG}polyline")
    ]
    lengths = {
        round(abs(a[0] - b[0]) + abs(a[1] - b[1]), 1) for line in lines if len(line) == 2 for a, b in pairwise(line)
    }
    figures = {int(each) for each in said((sheet,)) if re.fullmatch(r"\d{3,5}", each)}
    overall = max(figures)
    assert any(abs(length - overall / scale) < 0.11 for length in lengths), (overall, scale)


@EVERY
def test_every_section_pack_and_member_is_named(file: Path, drawn: Drawn) -> None:
    layout = lay_out(read_piece(file))
    sheets = drawn(file, "A4")
    views = " ".join(said(sheets[:2]))
    tables = said(sheets[2:])
    for number, circuit in enumerate(layout.circuits):
        assert f"{letter(number)}  {circuit.circuit.name}" in said(sheets[:1])
        count = sum(len(run.sections) for run in circuit.runs)
        for section in range(1, count + 1):
            assert f"{letter(number)}{section}" in views
            assert f"{letter(number)}{section}" in tables
    for member in layout.piece.members:
        assert member.name in tables


def test_circuits_are_told_apart_without_colour() -> None:
    dashes = [circuit_style(number).dash for number in range(6)]
    assert len(set(dashes)) == 6
    assert [letter(number) for number in (0, 25, 26, 51, 52)] == ["A", "Z", "AA", "AZ", "BA"]


def test_hash_is_the_same_for_the_same_piece_and_another_for_another() -> None:
    text = example("frost-gate").read_text(encoding="utf-8")

    def hashes(text: str) -> set[str]:
        layout = lay_out(piece_from_text(text, Path("gate.toml")))
        sheets = draw_piece(layout, PAPERS["A4"])
        return {each for each in said(sheets) if re.fullmatch(r"[0-9a-f]{12}", each)}

    assert len(hashes(text)) == 1
    assert hashes(text) == hashes(text.replace("2026-12-19", "2027-12-19"))  # no date is in it
    assert hashes(text) != hashes(text.replace('legs = "1.4 m"', 'legs = "1.41 m"'))


@EVERY_PAPER
def test_pdf_has_a_page_of_the_papers_size_for_each_sheet(paper: Paper, drawn: Drawn) -> None:
    sheets = drawn(example("frost-gate"), paper.name)
    pages = list(pypdfium2.PdfDocument(drawing_pdf("Frost Gate", sheets, paper)))
    assert len(pages) == len(sheets)
    for page, sheet in zip(pages, sheets, strict=True):
        # A point is 25.4 / 72 mm.
        assert page.get_size() == pytest.approx((paper.width / 25.4 * 72, paper.height / 25.4 * 72), abs=0.01)
        written = page.get_textpage().get_text_range()
        assert all(text.said in written for text in texts(sheet) if re.fullmatch(r"[\d ]+", text.said))


def test_names_are_no_markup_and_long_ones_stay_in_the_strip() -> None:
    text = example("frost-gate").read_text(encoding="utf-8").replace("Frost Gate", "<b>&" + "Winterwald " * 10)
    layout = lay_out(piece_from_text(text, Path("gate.toml")))
    for sheet in draw_piece(layout, PAPERS["A4"]):
        assert any(each.startswith("<b>&Winterwald") and each.endswith("…") for each in said((sheet,)))


def many(count: int, step: str, turn: str = "0 deg") -> Layout:
    """Lay out a row of posts, each a circuit of its own."""
    return lay_out(
        piece_from_text(
            f"""
[brief]
name = "Many"
place = "here"
date = 2026-12-19
standby = "10 min"
run_time = "2 h"
coldest = "5 degC"
wind = "7 m/s"
survive = {{ failures = 1, lit = "50 %" }}
[[member]]
name = "post"
shape = "straight"
length = "1 m"
turn = "{turn}"
repeat = {{ pattern = "row", count = {count}, step = ["{step}", "0 m", "0 m"] }}
[[circuit]]
name = "post"
each = "post"
pack = "pack-20ah-3a"
board = "m328p-16mhz-crystal"
[[circuit.run]]
name = "post"
strip = "ws2812b-60"
pin = "PD6"
section = [{{ on = "post" }}]
[show]
rate = "20 /s"
brightness = "20 %"
[[cue]]
look = "slow-ice"
length = "1 min"
""",
            Path("many.toml"),
        )
    )


@pytest.mark.parametrize(("count", "step"), [(1, "1 m"), (2, "1 mm"), (40, "10 cm"), (60, "3 m"), (30, "0.1 km")])
def test_any_number_of_members_near_or_far_is_drawn_without_texts_on_texts(count: int, step: str) -> None:
    for paper in PAPERS.values():
        for sheet in draw_piece(many(count, step), paper):
            for one, other in combinations(texts(sheet), 2):
                assert not one.box.overlaps(other.box), (one, other)


@pytest.mark.parametrize("projection", [PLAN, FRONT, SIDE, ISOMETRIC], ids=lambda each: each.title)
def test_views_neither_stretch_nor_mirror(projection: object) -> None:
    right, up, toward = (np.array(each) for each in (projection.right, projection.up, projection.toward))
    assert np.cross(right, up) == pytest.approx(toward, abs=1e-12)
    assert [np.linalg.norm(each) for each in (right, up, toward)] == pytest.approx([1, 1, 1], abs=1e-12)


def test_isometric_shortens_the_three_axes_alike() -> None:
    # ISO 5456-3: all three axes at sqrt(2/3) of their length, 120 degrees apart (from memory).
    axes = ISOMETRIC.flat(np.diag([1.0, -1.0, 1.0]))  # toward the viewer, who stands at the front right
    assert np.hypot(*axes.T) == pytest.approx([np.sqrt(2 / 3)] * 3)
    assert axes @ axes.T - np.diag([2 / 3] * 3) == pytest.approx((np.eye(3) - 1) / 3, abs=1e-12)


def test_thinned_line_stays_within_its_tolerance() -> None:
    t = np.linspace(0.0, 6.0, 2001)
    line = np.stack([20 * t, 8 * np.sin(3 * t)], axis=1)
    thin = thinned(line)
    assert len(thin) < 250
    assert np.abs(np.interp(line[:, 0], thin[:, 0], thin[:, 1]) - line[:, 1]).max() < 0.05


def test_thinned_line_that_comes_back_on_itself_still_goes_there() -> None:
    up = np.linspace(0.0, 50.0, 101)
    line = np.stack([np.zeros(201), np.concatenate([up, up[-2::-1] + 0.4])], axis=1)
    assert thinned(line)[:, 1].max() == pytest.approx(50.0, abs=0.5)


def test_letters_are_never_wider_than_the_drawing_takes_them_to_be() -> None:
    face = ImageFont.load_default(100)
    for code in range(32, 127):
        assert text_width(chr(code), 1.0) >= face.getlength(chr(code)) / 100, chr(code)
