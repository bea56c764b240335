"""Every pixel of the layout comes from a reel, and every reel is accounted for to the last pixel."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.layout import Layout, lay_out
from lampwright.making import cut_all
from lampwright.piece import piece_from_text, read_piece
from tests.small_piece import small_piece

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/*.toml"))
POST = 'shape = "straight"\nlength = "1 m"'


def assert_adds_up(layout: Layout) -> None:
    """Sections to runs to pieces to bars to stock."""
    for circuit in layout.circuits:
        pitch = 1.0 / circuit.circuit.strip.density.value
        for run in circuit.runs:
            assert sum(section.length for section in run.sections) == pytest.approx(run.n_pixel * pitch)
            assert sum(section.n_pixel for section in run.sections) == run.n_pixel
        assert sum(run.n_pixel for run in circuit.runs) == circuit.n_pixel == len(circuit.xyz)
    strips = [each for each in cut_all(layout) if each.material.kind == "strip"]
    assert sum(piece.length for each in strips for piece in each.material.pieces) == sum(
        circuit.n_pixel for circuit in layout.circuits
    )
    for each in strips:
        wanted = sorted(piece.name for piece in each.material.pieces)
        cuts = [cut for bar in each.plan.bars for cut in bar.cuts]
        assert sum(cut.piece.length for cut in cuts) == sum(piece.length for piece in each.material.pieces)
        assert sorted({cut.piece.whole or cut.piece.name for cut in cuts}) == sorted(set(wanted))
        for bar in each.plan.bars:
            assert sum(cut.end - cut.start for cut in bar.cuts) + bar.rest == bar.stock.length


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_every_example_adds_up_to_its_reels(file: Path) -> None:
    assert_adds_up(lay_out(read_piece(file)))


@given(
    shape=st.sampled_from(
        [
            'shape = "arc"\nchord = "{a} cm"\nrise = "{b} cm"',
            'shape = "hoop"\nwidth = "{a} cm"\nheight = "= {a} cm / 2 + {b} cm"',
            'shape = "bent"\nbend = "3 cm"\n'
            'points = [["0 m", "0 m", "0 m"], ["0 m", "0 m", "{a} cm"], ["{b} cm", "0 m", "{a} cm"]]',
            'shape = "staff"\nlength = "{a} cm"\nheld = "1 m"\ngrip = "20 cm"',
        ]
    ),
    a=st.integers(40, 300),
    b=st.integers(20, 200),
    way=st.sampled_from(
        ["", 'bare_start = "5 cm"', 'zigzag = { width = "30 cm", pitch = "15 cm" }', 'direction = "back"']
    ),
)
@settings(max_examples=30, deadline=None)
def test_whatever_the_shape_it_adds_up_to_its_reels(shape: str, a: int, b: int, way: str) -> None:
    keys = shape.replace("{a}", str(a)).replace("{b}", str(b))
    text = small_piece().replace(POST, keys).replace('on = "post"', f'on = "post"\n{way}')
    assert_adds_up(lay_out(piece_from_text(text, Path("small.toml"))))
