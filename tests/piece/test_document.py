"""docs/piece-file.md: nothing that a maker can write is left out of it."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from lampwright.piece import schema
from lampwright.piece.fields import Quantity, Vector
from lampwright.piece.model import Arc, Bent, Hoop, Staff, Straight
from lampwright.piece.points import points_of
from lampwright.units import KINDS, unit_table

TEXT = (Path(__file__).parents[2] / "docs" / "piece-file.md").read_text(encoding="utf-8")
TABLES = [
    schema.BriefEntry,
    schema.SurviveEntry,
    schema.BaseEntry,
    schema.HoopEntry,
    schema.StraightEntry,
    schema.StaffEntry,
    schema.ArcEntry,
    schema.BentEntry,
    schema.RowEntry,
    schema.RingEntry,
    schema.GridEntry,
    schema.PathEntry,
    schema.MirrorEntry,
    schema.CircuitEntry,
    schema.RunEntry,
    schema.CableEntry,
    schema.FeedEntry,
    schema.JointEntry,
    schema.ReadingEntry,
    schema.SectionEntry,
    schema.FixingEntry,
    schema.SpanEntry,
    schema.ZigzagEntry,
    schema.AllowancesEntry,
    schema.WorkEntry,
    schema.StandbyEntry,
    schema.ShowEntry,
    schema.CueEntry,
]


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.__name__)
def test_every_key_is_described(table: type[schema.Table]) -> None:
    for key, field in table.model_fields.items():
        written = field.alias or key
        assert re.search(rf"`{written}`|\b{written} = |\.{written}\]\]", TEXT), written


def test_every_point_is_named() -> None:
    shapes = [
        Straight(1.0, 0.0),
        Staff(1.0, 0.0, 0.5),
        Hoop(1.0, 1.0),
        Arc(1.0, 0.5, 0.0),
        Bent(((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 1.0)), (0.1,)),
    ]
    for shape in shapes:
        for point in points_of(shape):
            assert f'"{point}"' in TEXT


@pytest.mark.parametrize("kind", KINDS)
def test_every_unit_is_listed(kind: str) -> None:
    (row,) = re.findall(rf"^\| {kind} \| (.*) \|$", TEXT, flags=re.MULTILINE)
    listed = [text.split(" (or ")[0] for text in row.split(", ")]
    assert sorted(listed) == sorted(unit.name for unit in unit_table().units if kind in unit.kinds)


def test_every_example_of_a_line_is_toml() -> None:
    examples = re.findall(r"`(\w+ = [^`]*)`", TEXT)
    assert examples
    for example in examples:
        tomllib.loads(example)


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.__name__)
def test_every_length_is_read_in_feet_and_inches_as_in_metres(table: type[schema.Table]) -> None:
    for field in table.model_fields.values():
        for mark in field.metadata:
            checker = getattr(mark, "func", None)
            if isinstance(checker, Quantity) and checker.kind == "length":
                assert checker("1 ft 6 in") == checker("0.4572 m") == checker("1/2 yd") == 0.4572
            if isinstance(checker, Vector):
                n_axis = len(checker.axes)
                mixed = ["-2 ft", "61 cm", "24 in"][:n_axis]
                assert checker(mixed) == pytest.approx([-0.6096, 0.61, 0.6096][:n_axis])
