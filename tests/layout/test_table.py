"""Other programs light the wrong pixel when the table is out of step with the strip."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lampwright.layout import lay_out, write_places
from lampwright.layout.table import places_csv, places_json
from lampwright.layout.toward import directions
from lampwright.parts import Tube, find
from lampwright.piece.model import Bent, FixedSection, Hold, Leg, Member, Piece, SpanSection, Support

BuildPiece = Callable[..., Piece]


def test_every_pixel_has_its_line_in_the_order_of_the_strip(
    piece_of: BuildPiece, arch_section: FixedSection, garland: SpanSection
) -> None:
    layout = lay_out(piece_of(arch_section, garland))
    rows = list(csv.DictReader(io.StringIO(places_csv(layout))))
    circuit = layout.circuits[0]
    assert [int(row["pixel"]) for row in rows] == list(range(circuit.n_pixel))
    assert rows[345]["section"] == "arch 1"
    assert rows[346]["section"] == "garland"
    told = np.array([[float(row[key]) for key in ("x_m", "y_m", "z_m")] for row in rows])
    assert told == pytest.approx(circuit.xyz, abs=6e-5)
    way = np.array([[float(row[key]) for key in ("toward_x", "toward_y", "toward_z")] for row in rows])
    assert way == pytest.approx(directions(circuit), abs=6e-5)
    assert [float(row["along_m"]) for row in rows] == pytest.approx(circuit.along.tolist(), abs=6e-5)


def test_every_pixel_tells_where_the_strip_goes_on(
    piece_of: BuildPiece, arch: Member, garland: SpanSection, leaning_post: Member
) -> None:
    tube = replace(leaning_post, support=Support(find(Tube, "conduit-1")))
    gate = Bent(((0.0, 0.0, 0.0), (0.0, 0.0, 2.0), (1.0, 0.5, 2.5)), (0.2,))
    bent = Member("gate", gate, (0.0, 0.0, 0.0), 0.4)
    sections = (
        FixedSection("arch", arch, 0.4, 0.1, is_back=True),
        garland,
        replace(garland, hold=Hold(slack=0.05)),
        FixedSection("post", tube, 0.1, 0.0, spiral=0.12),
        FixedSection("post", tube, 0.1, 0.0, is_back=True, spiral=0.12),
        FixedSection("gate", bent, 0.0, 0.0),
        FixedSection("leg", bent, 0.0, 0.0, is_back=True, leg=Leg(1.0, arch, 0.5, 0.0, 0.1, 0.05)),
    )
    # Pixels so close that the way from one to the next is the strip's direction between them.
    circuit = lay_out(piece_of(*sections, density=2000.0)).circuits[0]
    toward = directions(circuit)
    for section in circuit.runs[0].sections:
        own = slice(section.first, section.first + section.n_pixel)
        step = np.diff(circuit.xyz[own], axis=0)
        between = toward[own][1:] + toward[own][:-1]
        step, between = (each / np.linalg.norm(each, axis=1, keepdims=True) for each in (step, between))
        angle = np.linalg.norm(step - between, axis=1)
        assert angle.max() < 5e-3, section.section.name
    assert np.linalg.norm(toward, axis=1) == pytest.approx(1.0)


def test_json_says_the_same_as_csv(piece_of: BuildPiece, garland: SpanSection) -> None:
    layout = lay_out(piece_of(garland))
    rows = list(csv.DictReader(io.StringIO(places_csv(layout))))
    assert [{key: str(value) for key, value in row.items()} for row in json.loads(places_json(layout))] == rows


@pytest.mark.parametrize(("name", "begins"), [("places.csv", "circuit,run"), ("places.json", "[{")])
def test_the_files_name_says_its_form(
    tmp_path: Path, piece_of: BuildPiece, garland: SpanSection, name: str, begins: str
) -> None:
    write_places(tmp_path / name, lay_out(piece_of(garland)))
    assert (tmp_path / name).read_text(encoding="utf-8").startswith(begins)
    assert [path.name for path in tmp_path.iterdir()] == [name]
