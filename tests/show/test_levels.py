"""A maker learns before the show that a slow fade will be seen to step."""

from __future__ import annotations

from pathlib import Path

import pytest

from lampwright.findings.model import Severity
from lampwright.piece import piece_from_text
from lampwright.show import check_levels
from tests.small_piece import small_piece


@pytest.mark.parametrize(
    ("brightness", "value", "severity"),
    [
        ("100 %", "255 levels", Severity.PASS),
        ("18 %", "46 levels", Severity.PASS),
        ("10 %", "26 levels", Severity.NOTE),
        ('10 %"\nsteps = "dithered', "104 levels", Severity.PASS),
        ('2 %"\nsteps = "dithered', "20 levels", Severity.NOTE),
    ],
)
def test_the_levels_left_under_a_brightness_are_told(brightness: str, value: str, severity: Severity) -> None:
    piece = piece_from_text(small_piece(brightness=brightness), Path("small.toml"))
    finding = check_levels(piece)
    assert (finding.value, finding.severity) == (value, severity)
