"""A wire drawn to the wrong end is soldered there; a label that lies on another is read wrong."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from PIL import ImageFont

from lampwright.book.drawing.sheet import Box
from lampwright.book.wiring import draw_wiring
from lampwright.layout import Layout, lay_out
from lampwright.making import cut_all, harnesses_of
from lampwright.parts import Fuse, find
from lampwright.piece import piece_from_text, read_piece
from lampwright.power import bulk_of, fuses_of, line_resistors
from lampwright.units import format_quantity
from tests.small_piece import small_piece

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*/*.toml"))
SVG = "{http://www.w3.org/2000/svg}"


def texts(sheet: str) -> list[tuple[str, Box]]:
    """Read a sheet back, measured by the face that Pillow ships."""
    found = []
    for element in ElementTree.fromstring(sheet).iter(f"{SVG}text"):
        x, y, size = (float(element.attrib[key]) for key in ("x", "y", "font-size"))
        said = element.text or ""
        width = ImageFont.load_default(100).getlength(said) * size / 100
        left = x - {"start": 0.0, "middle": width / 2, "end": width}[element.attrib["text-anchor"]]
        found.append((said, Box(left, y - 0.7 * size, left + width, y)))
    return found


def strokes(sheet: str, colour: str) -> list[Box]:
    """Return each straight stretch of the conductors of one colour."""
    found = []
    for element in ElementTree.fromstring(sheet).iter(f"{SVG}polyline"):
        if element.attrib["stroke"] == colour:
            points = [tuple(float(each) for each in pair.split(",")) for pair in element.attrib["points"].split()]
            for (x, y), (to_x, to_y) in pairwise(points):
                found.append(Box(min(x, to_x), min(y, to_y), max(x, to_x), max(y, to_y)))
    return found


def all_sheets(layout: Layout) -> list[tuple[str, ...]]:
    harnesses = harnesses_of(layout, cut_all(layout))
    return [draw_wiring(layout, circuit, each) for circuit, each in zip(layout.circuits, harnesses, strict=True)]


def many(n_run: int, n_feed: int) -> Layout:
    """Lay out a circuit of so many runs, each with so many feeds."""
    feeds = ", ".join(
        f'{{ at = "{100 * n / max(1, n_feed - 1):.4g} %", wire = "awg-16", length = "{n + 1} m" }}'
        for n in range(n_feed)
    )
    runs = "".join(
        f"""
[[circuit.run]]
name = "run {number}"
strip = "ws2812b-60"
pin = "PD{number}"
feed = [{feeds}]
section = [{{ on = "post" }}, {{ on = "post", direction = "back" }}]
"""
        for number in range(2, 2 + n_run)
    )
    text = small_piece()
    head, tail = re.split(r"\[\[circuit\.run\]\]", text, maxsplit=1)
    tail = tail[tail.index("[show]") :] if "[show]" in tail else tail
    head = re.sub(r'(?m)^name = "[^"]*"\nshape', 'name = "post"\nshape', head)
    return lay_out(piece_from_text(head + runs + tail, Path("many.toml")))


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda file: file.stem)
def example(request: pytest.FixtureRequest) -> Layout:
    return lay_out(read_piece(request.param))


@pytest.fixture(scope="module")
def gate() -> Layout:
    return lay_out(read_piece(next(file for file in EXAMPLES if file.stem == "frost-gate")))


def assert_readable(sheet: str) -> None:
    paper, found = Box(20.0, 10.0, 287.0, 200.0), texts(sheet)
    for said, box in found:
        assert paper.holds(box), said
    for one, other in combinations(found, 2):
        assert not one[1].overlaps(other[1]), (one, other)
    for said, box in found:
        for colour in ("#b01818", "#000", "#00612e"):
            for stroke in strokes(sheet, colour):
                assert not box.overlaps(stroke), (said, colour, stroke)


def test_no_text_lies_on_a_text_or_a_conductor_or_leaves_the_frame(example: Layout) -> None:
    for sheets in all_sheets(example):
        for sheet in sheets:
            assert_readable(sheet)


@pytest.mark.parametrize(("n_run", "n_feed"), [(1, 1), (2, 2), (4, 3), (6, 5), (1, 9), (1, 14), (1, 40)])
def test_any_number_of_runs_and_feeds_is_drawn(n_run: int, n_feed: int) -> None:
    layout = many(n_run, n_feed)
    for sheets in all_sheets(layout):
        for sheet in sheets:
            assert_readable(sheet)
        said = " ".join(text for sheet in sheets for text, _ in texts(sheet))
        for run in layout.circuits[0].runs:
            assert run.run.pin in said


def test_fuses_in_feeds_are_drawn_each_with_its_mark(gate: Layout) -> None:
    """A feed from the hub into a head and to a far end, from a run to itself, from a run to another's head and end."""
    laid = []
    for circuit in gate.circuits:
        runs = tuple(
            replace(
                run,
                feeds=tuple(replace(feed, cable=replace(feed.cable, fuse=find(Fuse, "fuse-2a"))) for feed in run.feeds),
            )
            for run in circuit.circuit.runs
        )
        lead = replace(circuit.circuit.wiring.lead, fuse=find(Fuse, "fuse-5a"))
        wiring = replace(circuit.circuit.wiring, lead=lead)
        of_layout = tuple(replace(each, run=run) for each, run in zip(circuit.runs, runs, strict=True))
        laid.append(replace(circuit, circuit=replace(circuit.circuit, runs=runs, wiring=wiring), runs=of_layout))
    layout = replace(gate, circuits=tuple(laid))
    for sheets, circuit in zip(all_sheets(layout), layout.circuits, strict=True):
        said = " ".join(text for sheet in sheets for text, _ in texts(sheet))
        for sheet in sheets:
            assert_readable(sheet)
        fuses = fuses_of(circuit.circuit)
        assert len(fuses) == 2 + sum(len(run.run.feeds) for run in circuit.runs)  # the lead's and the board's besides
        for fitted in fuses:
            assert f"{fitted.mark} {fitted.fuse.rating.text}" in said, fitted


def test_every_wire_has_its_gauge_and_both_lengths(example: Layout) -> None:
    harnesses = harnesses_of(example, cut_all(example))
    for sheets, harness in zip(all_sheets(example), harnesses, strict=True):
        said = " ".join(text for sheet in sheets for text, _ in texts(sheet))
        for wire in harness.wires:
            assert re.search(rf"\b{wire.mark}\b", said), wire
            if wire.use.value != "jumper":
                gauge = wire.gauges[0].title.removesuffix(" copper wire")
                lengths = f"{format_quantity(wire.way, 'length')} ({format_quantity(wire.cut, 'length')})"
                assert re.search(rf"\b{wire.mark} {gauge},? {re.escape(lengths)}", said), wire


def test_parts_are_those_that_are_checked_and_bought(example: Layout) -> None:
    for sheets, circuit in zip(all_sheets(example), example.circuits, strict=True):
        said = " ".join(text for sheet in sheets for text, _ in texts(sheet))
        for fitted in fuses_of(circuit.circuit):
            assert f"{fitted.mark} {fitted.fuse.rating.text}" in said
        for bulk in bulk_of(circuit):
            assert format_quantity(bulk.capacitance, "capacitance") in said
        for line in line_resistors(circuit):
            assert format_quantity(line.resistance or 0, "resistance") in said
        for run in circuit.runs:
            assert run.run.pin in said


def test_every_joint_of_the_list_is_on_the_drawing(example: Layout) -> None:
    harnesses = harnesses_of(example, cut_all(example))
    for sheets, harness in zip(all_sheets(example), harnesses, strict=True):
        said = {word for sheet in sheets for text, _ in texts(sheet) for word in text.split()}
        marks = {row.mark for row in harness.joints if row.run}
        assert marks <= said


def test_colour_is_not_needed_to_tell_conductors_apart(example: Layout) -> None:
    sheet = all_sheets(example)[0][0]
    looks = {
        (element.attrib["stroke-width"], element.attrib.get("stroke-dasharray", ""))
        for element in ElementTree.fromstring(sheet).iter(f"{SVG}polyline")
        if element.attrib["stroke"] in ("#b01818", "#00612e")
    }
    assert ("0.55", "") in looks
    assert any(dash for _, dash in looks)


def test_packs_that_share_are_all_drawn_with_their_fuses() -> None:
    text = small_piece().replace('board = "', 'packs = 3\njoined = "ideal diode"\nboard = "', 1)
    ((sheet,),) = all_sheets(lay_out(piece_from_text(text, Path("three.toml"))))
    assert_readable(sheet)
    said = " ".join(each for each, _ in texts(sheet))
    assert "F4 " in said  # of the lead, behind the diodes
    for number in (1, 2, 3):
        assert f"G{number}" in said
        assert f"F{number} " in said


@pytest.mark.parametrize("joined", ["in turn", "plain diode"])
def test_a_resistor_that_keeps_a_pack_awake_is_drawn_at_each(joined: str) -> None:
    text = small_piece().replace('board = "', f'packs = 2\njoined = "{joined}"\nkeep_awake = "47 ohm"\nboard = "', 1)
    ((sheet,),) = all_sheets(lay_out(piece_from_text(text, Path("awake.toml"))))
    assert_readable(sheet)
    said = [each for each, _ in texts(sheet)]
    assert sum("47 ohm" in each for each in said) == (1 if joined == "in turn" else 2)
