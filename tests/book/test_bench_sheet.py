"""A reading held against a wrong figure finds no fault, or finds one where there is none."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest

from lampwright.book import bench_sheets, expected_readings
from lampwright.layout import Layout, lay_out
from lampwright.piece import piece_from_text, read_piece
from lampwright.units import format_quantity
from tests.small_piece import small_piece

GATE = Path(__file__).parents[2] / "examples" / "frost-gate" / "frost-gate.toml"


@pytest.fixture(scope="module")
def gate() -> Layout:
    return lay_out(read_piece(GATE))


def test_a_small_piece_by_hand() -> None:
    (circuit,) = lay_out(piece_from_text(small_piece(), Path("small.toml"))).circuits
    strip, board = circuit.circuit.strip, circuit.circuit.board
    found = {each.pattern: each for each in expected_readings(circuit)}
    dark = circuit.n_pixel * strip.quiescent_current.value + board.current.value
    assert found["dark"].current == pytest.approx(dark)
    assert found["red"].level == 0.1  # 1.8 A for thirty white pixels are far from the cap
    # 10 % is code 26 of 255; on a metre of strip the supply is high enough for full current
    red = dark + circuit.n_pixel * strip.red_current.value * 26 / 255
    assert found["red"].current == pytest.approx(red)
    pack = circuit.circuit.pack.output_voltage.value
    assert pack > found["white"].head > found["white"].far_end > 0.9 * pack
    assert found["dark"].far_end > found["white"].far_end


def test_no_pack_is_overdrawn_by_its_test(gate: Layout) -> None:
    for circuit in gate.circuits:
        for each in expected_readings(circuit):
            assert each.current <= circuit.circuit.current_cap
            assert 0.01 <= each.level <= 0.1


def test_the_sheet_says_what_the_model_says(gate: Layout) -> None:
    book = pypdfium2.PdfDocument(bench_sheets(gate))
    assert len(book) == len(gate.circuits)
    for page, circuit in zip(book, gate.circuits, strict=True):
        text = page.get_textpage().get_text_range()
        assert circuit.circuit.name in text
        for each in expected_readings(circuit):
            assert format_quantity(each.current, "current") in text
            assert format_quantity(each.head, "voltage") in text
            assert format_quantity(each.far_end, "voltage") in text
        assert "3 h 10 min" in text  # standby and show
