"""An example that doesn't hang or stand teaches its reader to build one that doesn't."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from lampwright.findings.model import Severity
from lampwright.layout import check_layout, lay_out
from lampwright.piece import read_piece
from lampwright.rigging import check_rigging

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.mark.parametrize("file", sorted(EXAMPLES.glob("*/*.toml")), ids=lambda file: file.stem)
def test_every_example_hangs_and_stands(file: Path) -> None:
    layout = lay_out(read_piece(file))
    findings = (*check_layout(layout), *check_rigging(layout))
    assert [finding.code for finding in findings if finding.severity in (Severity.WARN, Severity.FAIL)] == []


def test_curtain_has_its_two_thousand_pixels_in_five_circuits() -> None:
    layout = lay_out(read_piece(EXAMPLES / "reed-curtain" / "reed-curtain.toml"))
    # 3.34 m of each of 20 drops at 30 /m are 100.2 pixels.
    assert [circuit.n_pixel for circuit in layout.circuits] == [400] * 5


def test_curtain_goes_up_one_drop_and_down_the_next() -> None:
    heights = lay_out(read_piece(EXAMPLES / "reed-curtain" / "reed-curtain.toml")).circuits[0].xyz[:, 2]
    assert np.all(np.diff(heights[:100]) > 0)
    assert np.all(np.diff(heights[100:200]) < 0)
    assert abs(heights[199] - heights[200]) < 0.05


def test_mast_is_wound_as_many_pixels_as_its_unrolled_turns() -> None:
    layout = lay_out(read_piece(EXAMPLES / "helm-mast" / "helm-mast.toml"))
    # 12 ft less 2.5 ft are 2.8956 m; turns of 20 cm at a radius of 27.5 mm make that 1.3219 times as long.
    assert layout.circuits[0].n_pixel == 114
