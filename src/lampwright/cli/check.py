"""``lampwright check``: findings without building anything."""

from __future__ import annotations

from lampwright.cli.bars import Bars
from lampwright.cli.options import AsJson, PieceFile
from lampwright.cli.show import print_findings
from lampwright.cli.table import findings_json
from lampwright.piece import read_piece
from lampwright.signoff import sign_off


def check(piece: PieceFile, /, *, as_json: AsJson = False) -> int:
    """Check a piece: layout, boards, show and power.

    Every frame of standby and show is weighed. Exit code 0: passed; 1: a check failed; 2: the file
    can't be read or something in it is wrong.
    """
    with Bars() as bars:
        report = sign_off(read_piece(piece), bars)
    if as_json:
        print(findings_json(report.piece.brief.name, report.findings))
    else:
        print_findings(report, report.findings)
    return 0 if report.has_passed else 1
