"""Whoever begins with a new piece sees no warning but those of their own changes."""

from __future__ import annotations

from pathlib import Path

from lampwright.findings.model import Severity
from lampwright.piece import read_piece, write_new
from lampwright.signoff import Silent, sign_off


def test_a_new_piece_passes_its_check_without_a_warning(tmp_path: Path) -> None:
    write_new(tmp_path / "garden.toml", "Garden")
    found = sign_off(read_piece(tmp_path / "garden.toml"), Silent()).findings
    assert [each.code for each in found if each.severity in (Severity.WARN, Severity.FAIL)] == []
