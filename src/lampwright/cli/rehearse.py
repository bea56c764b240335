"""``lampwright rehearse``: findings, firmware, and the firmware watched running."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from lampwright.cli.bars import Bars
from lampwright.cli.fault_table import faults_json, print_faults
from lampwright.cli.options import AsJson, OutFolder, PieceFile
from lampwright.cli.pieces import MeasuredIn, read_with_measured
from lampwright.cli.show import builds_json, print_builds, print_findings
from lampwright.cli.table import findings_json
from lampwright.rehearsal import Earlier, FaultPlan, Plan, draw_countdown, draw_rehearsal, draw_timing
from lampwright.show import CircuitShow
from lampwright.signoff import Proof, make_firmware, prove, sign_off
from lampwright.units import MakerError, Problem, parse

PICTURES = {
    "what the chips sent": "rehearsal.png",
    "how long bits lasted": "timing.png",
    "the countdown": "countdown.png",
}
"""What each picture shows, and its file."""

LONGEST_SHOW_TIME = "1 d"
"""As long as a cue may be; an hour's work or more."""

ShowTime = Annotated[str, Parameter(help='How much of the show to run after the whole standby, such as "10 min".')]


Faults = Annotated[int, Parameter(help="How many faults to put into each circuit at random moments, such as 1000.")]

Fresh = Annotated[bool, Parameter(help="Run everything, even what was rehearsed before.", negative="")]

MOST_FAULTS = 1_000_000


def rehearse(
    piece: PieceFile,
    /,
    *,
    show_time: ShowTime = "",
    faults: Faults = 0,
    fresh: Fresh = False,
    shelf: MeasuredIn = None,
    out: OutFolder = Path("out"),
    as_json: AsJson = False,
) -> int:
    """Check and build a piece, then run its firmware on emulated chips.

    The very file that is flashed runs through the whole standby and a stretch of the show; every bit on
    the data lines is timed and every frame is compared. A picture of what the chips sent is left in the
    folder. With --faults the firmware is then reset, hung and spoiled at random moments, and has to come
    back at its place.

    A binary that was rehearsed before with the same show and the same plan isn't run again, unless --fresh
    is given.
    """
    plan = Plan(show_seconds=show_seconds(show_time)) if show_time else Plan()
    broken = fault_plan(faults, plan)
    with Bars() as bars:
        report = sign_off(read_with_measured(piece, shelf), bars)
        made = make_firmware(report, out, bars)
        proof = prove(made, plan, bars, broken, Earlier(None) if fresh else Earlier.of_user())
    name = report.piece.brief.name
    pictures = draw_pictures(report.shows, proof, name, out) if made.builds else {}
    if as_json:
        drawn = {path.stem: str(path) for path in pictures.values()}
        broken_json = {"faults": faults_json(proof.faults)} if proof.faults else {}
        print(findings_json(name, proof.findings, firmware=builds_json(made.builds), pictures=drawn, **broken_json))
    else:
        print_builds(made.builds, out)
        print_findings(report, proof.findings)
        if proof.faults:
            print_faults(proof.faults)
        if proof.rehearsal.n_earlier:
            print(earlier_line(proof.rehearsal.n_earlier, len(made.builds)))
        for what, path in pictures.items():
            print(f"picture of {what}: {path}")
    return 0 if proof.has_passed else 1


def earlier_line(n_earlier: int, n_circuit: int) -> str:
    """Return a line that says for how many circuits an earlier result was taken."""
    which = "every circuit" if n_earlier == n_circuit else f"{n_earlier} of {n_circuit} circuits"
    return f"the very file of {which} was rehearsed before; that result is shown (--fresh runs it anyway)"


def draw_pictures(shows: Sequence[CircuitShow], proof: Proof, name: str, out: Path) -> dict[str, Path]:
    """Draw what was seen; return each picture's file by what it shows."""
    circuits = proof.rehearsal.circuits
    pictures = {what: out / file for what, file in PICTURES.items()}
    draw_rehearsal(shows, circuits, name, pictures["what the chips sent"], proof.faults)
    draw_timing(shows, circuits, name, pictures["how long bits lasted"])
    if not draw_countdown(shows, circuits, name, pictures["the countdown"]):
        del pictures["the countdown"]
    return pictures


def fault_plan(count: int, plan: Plan) -> FaultPlan | None:
    """Return where and how often the firmware is broken, ``None`` for never.

    Raises
    ------
    MakerError
        COMMAND-003 for a number that makes no sense.
    """
    if not 0 <= count <= MOST_FAULTS:
        problem = Problem(
            "COMMAND-003",
            "so many faults can't be tried",
            f"--faults {count}",
            f"a number from 0 to {MOST_FAULTS}",
            "take 1000: that is some half a minute for each circuit",
        )
        raise MakerError([problem])
    return FaultPlan(count=count, show_seconds=plan.show_seconds) if count else None


def show_seconds(text: str) -> float:
    """Return how much of the show to run. [s]

    Raises
    ------
    MakerError
        COMMAND-003 when nobody would wait for it, or time would run backwards.
    """
    seconds = parse(text, "time")
    if not 0 <= seconds <= parse(LONGEST_SHOW_TIME, "time"):
        problem = Problem(
            "COMMAND-003",
            "this stretch of the show can't be rehearsed",
            f'--show-time "{text}"',
            f"a time from 0 s to {LONGEST_SHOW_TIME}",
            'take the length of one pass of the show, such as "90 min": later passes are the same',
        )
        raise MakerError([problem])
    return seconds
