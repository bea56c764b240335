"""``lampwright check``: findings without building anything."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from lampwright.cli.bars import Bars
from lampwright.cli.options import AsJson, PieceFile
from lampwright.cli.pieces import MeasuredIn, read_with_measured
from lampwright.cli.show import print_findings
from lampwright.cli.table import findings_json
from lampwright.power import draw_worst_moment, worst_moment
from lampwright.signoff import Report, folder_names, sign_off

Pictures = Annotated[
    Path | None,
    Parameter(name="--pictures", help="Also draw each circuit's worst moment: what was sent, what comes out, volts."),
]


def check(piece: PieceFile, /, *, shelf: MeasuredIn = None, pictures: Pictures = None, as_json: AsJson = False) -> int:
    """Check a piece: layout, boards, show and power.

    Every frame of standby and show is weighed. Exit code 0: passed; 1: a check failed; 2: the file
    can't be read or something in it is wrong.
    """
    with Bars() as bars:
        report = sign_off(read_with_measured(piece, shelf), bars)
    drawn = [] if pictures is None else _draw(report, pictures)
    if as_json:
        print(findings_json(report.piece.brief.name, report.findings, pictures=[str(path) for path in drawn]))
    else:
        print_findings(report, report.findings)
        for path in drawn:
            print(f"worst moment: {path}")
    return 0 if report.has_passed else 1


def _draw(report: Report, folder: Path) -> list[Path]:
    """Draw the worst moment of each circuit."""
    folder.mkdir(parents=True, exist_ok=True)
    names = folder_names([show.layout.circuit.name for show in report.shows])
    paths = [folder / f"worst-moment-{name}.png" for name in names]
    for show, draw, path in zip(report.shows, report.rails, paths, strict=True):
        draw_worst_moment(show.layout, worst_moment(show, draw), path)
    return paths
