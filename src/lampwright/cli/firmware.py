"""``lampwright firmware``: findings, then firmware written and built."""

from __future__ import annotations

from pathlib import Path

from lampwright.cli.bars import Bars
from lampwright.cli.options import AsJson, OutFolder, PieceFile
from lampwright.cli.show import builds_json, print_builds, print_findings
from lampwright.cli.table import findings_json
from lampwright.piece import read_piece
from lampwright.signoff import make_firmware, sign_off


def firmware(piece: PieceFile, /, *, out: OutFolder = Path("out"), as_json: AsJson = False) -> int:
    """Check a piece, then write and build its firmware.

    Each circuit gets a folder with C++ sources, the built .hex and how to flash it. Circuits whose board
    has too little RAM get none. Rehearse the firmware before you flash it.
    """
    with Bars() as bars:
        report = sign_off(read_piece(piece), bars)
        made = make_firmware(report, out, bars)
    if as_json:
        print(findings_json(report.piece.brief.name, report.findings, firmware=builds_json(made.builds)))
    else:
        print_builds(made.builds, out)
        print_findings(report, report.findings)
    return 0 if report.has_passed else 1
