"""Other programs light the wrong pixel when the table is out of step with the strip."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from lampwright.layout import lay_out, write_places
from lampwright.layout.table import places_csv, places_json
from lampwright.piece.model import FixedSection, Piece, SpanSection

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
    assert [float(row["along_m"]) for row in rows] == pytest.approx(circuit.along.tolist(), abs=6e-5)


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
