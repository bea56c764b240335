"""A zigzag whose legs are not where they were meant to be is a curtain with a hole in it."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.layout import Layout, lay_out
from lampwright.layout.transitions import transitions
from lampwright.piece import piece_from_text
from lampwright.piece.model import FixedSection
from lampwright.rigging.check import load_piece
from lampwright.units import MakerError
from tests.piece.conftest import changed

POST = 'shape = "straight"\nlength = "6 ft 6 in"'
ROW = 'repeat = { pattern = "row", count = 3, step = ["2 m", "0 m", "0 m"] }'
ON = 'on = "post"\nbare_start = "10 in"'
RAILS = (
    'shape = "straight"\nlean = "90 deg"\nlength = "{length} cm"',
    'repeat = { pattern = "row", count = 2, step = ["10 m", "0 m", "0 m"] }\n\n'
    '[[member]]\nname = "batten"\nshape = "straight"\nlean = "90 deg"\nlength = "{other} cm"\n'
    'at = ["0 m", "0 m", "2.5 m"]\nrepeat = { pattern = "row", count = 2, step = ["10 m", "0 m", "0 m"] }',
)


def curtain(zigzag: str, length: int = 90, other: int = 90, *changes: tuple[str, str]) -> Layout:
    text = changed(
        (POST, RAILS[0].replace("{length}", str(length))),
        (ROW, RAILS[1].replace("{other}", str(other))),
        (ON, f'on = "post"\n{zigzag}'),
        *changes,
    )
    text = text[: text.index('[[circuit.run]]\nname = "line"')] + text[text.index("[show]") :]
    return lay_out(piece_from_text(text, Path("piece.toml")))


@given(pitch=st.integers(5, 60), length=st.integers(10, 200), other=st.integers(10, 200), clear=st.integers(0, 40))
@settings(max_examples=40, deadline=None)
def test_legs_go_back_and_forth_at_their_pitch(pitch: int, length: int, other: int, clear: int) -> None:
    layout = curtain(f'zigzag = {{ to = "batten", pitch = "{pitch} cm", clear = "{clear} mm" }}', length, other)
    for number, circuit in enumerate(layout.circuits):
        sections = circuit.runs[0].sections
        assert len(sections) == length // pitch + 1
        for index, section in enumerate(sections):
            low = np.array([10.0 * number + index * pitch / 100, 0.0, 0.0])
            high = np.array([10.0 * number + index * pitch / 100 * other / length, 0.0, 2.5])
            whole = float(np.linalg.norm(high - low))
            pixels = circuit.xyz[section.first : section.first + section.n_pixel]
            assert section.n_pixel == math.floor((whole - clear / 500) * 60 + 1e-9)
            start, end = (high, low) if index % 2 else (low, high)
            along = (end - start) / whole
            expected = start + np.outer(clear / 1000 + (np.arange(section.n_pixel) + 0.5) / 60, along)
            assert pixels == pytest.approx(expected, abs=1e-9)


def test_legs_across_a_member_lie_half_on_each_side() -> None:
    layout = curtain('bare_start = "10 cm"\nzigzag = { width = "50 cm", pitch = "20 cm" }')
    circuit = layout.circuits[0]
    assert [section.n_pixel for section in circuit.runs[0].sections] == [30] * 5
    assert circuit.xyz[:, 2] == pytest.approx(0.0, abs=1e-12)
    assert circuit.xyz[0] == pytest.approx([0.1, -0.25 + 1 / 120, 0.0], abs=1e-9)
    assert circuit.xyz[30] == pytest.approx([0.3, 0.25 - 1 / 120, 0.0], abs=1e-9)


def test_each_turn_is_a_cut() -> None:
    layout = curtain('zigzag = { to = "batten", pitch = "30 cm" }')
    ways = transitions(layout.circuits[0])
    assert len(ways) == 3
    assert all(way.is_cut for way in ways)
    assert [way.gap for way in ways] == pytest.approx([0.3] * 3, abs=0.01)


def test_strip_of_all_legs_is_as_long_as_its_pixels() -> None:
    layout = curtain('zigzag = { to = "batten", pitch = "20 cm", clear = "2 in" }')
    for circuit in layout.circuits:
        whole = sum(section.length for run in circuit.runs for section in run.sections)
        assert whole == pytest.approx(circuit.n_pixel / 60)


def test_wind_on_the_legs_bends_the_posts_that_hold_them() -> None:
    tube = 'shape = "straight"\ntube = "conduit-1"\nlength = "6 ft 6 in"'
    zigzag = 'on = "post 1"\nzigzag = { to = "post 2", pitch = "10 cm" }'
    text = changed((POST, tube), (ON, zigzag), ('each = "post"\n', ""), ('skip = "last"\n', ""))
    text = text[: text.index('[[circuit.run]]\nname = "line"')] + text[text.index("[show]") :]
    layout = lay_out(piece_from_text(text, Path("piece.toml")))
    first, second, third = load_piece(layout, 10.0).standing
    # 20 legs of 2 m, 14 mm wide, drag 2, 62.5 Pa: 70 N, half on each post at their mean height of 0.95 m.
    wind = 62.5 * 2.0 * 0.014 * 20 * 2.0 / 2 * 0.95
    assert first.burden.moment - third.burden.moment == pytest.approx(wind, rel=1e-3)
    assert second.burden.moment == pytest.approx(first.burden.moment, rel=1e-9)


@pytest.mark.parametrize(
    ("zigzag", "code", "summary"),
    [
        ('zigzag = { pitch = "10 cm" }', "PIECE-017", "it is unclear where the legs of this zigzag end"),
        (
            'zigzag = { pitch = "10 cm", to = "batten", width = "1 m" }',
            "PIECE-017",
            "it is unclear where the legs of this zigzag end",
        ),
        ('zigzag = { pitch = "1 mm", width = "1 m" }', "PIECE-043", "these are too many legs"),
        (
            'bare_start = "1 m"\nzigzag = { pitch = "5 cm", width = "1 m" }',
            "PIECE-043",
            'the bare ends leave nothing of "post 1" for a zigzag',
        ),
        (
            'direction = "back"\nzigzag = { pitch = "5 cm", width = "1 m" }',
            "PIECE-017",
            '"direction" has no meaning here: a zigzag goes back and forth',
        ),
        ('zigzag = { pitch = "5 cm", to = "baton" }', "PIECE-011", 'there is no member named "baton"'),
        ('zigzag = { pitch = "5 cm", to = "batten", clear = "2 m" }', "LAYOUT-001", "no room for a pixel in"),
    ],
)
def test_zigzag_that_can_not_be_laid_is_refused(zigzag: str, code: str, summary: str) -> None:
    with pytest.raises(MakerError) as caught:
        curtain(zigzag, 60)
    assert caught.value.problems[0].code == code
    assert caught.value.problems[0].summary.startswith(summary)
    assert caught.value.problems[0].place is not None


def test_legs_know_the_member_they_are_counted_to() -> None:
    layout = curtain('zigzag = { to = "batten", pitch = "30 cm" }')
    legs = [section.section for section in layout.circuits[1].runs[0].sections]
    assert all(isinstance(leg, FixedSection) and leg.leg is not None for leg in legs)
    assert {leg.leg.other.name for leg in legs if isinstance(leg, FixedSection) and leg.leg} == {"batten 2"}
