"""``lampwright propose``: first designs for a brief."""

from __future__ import annotations

import datetime
import json
import math
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter
from cyclopts.validators import Number
from rich.console import Console
from rich.table import Table

from lampwright.cli.bars import Bars
from lampwright.cli.options import AsJson, OutFolder, ShelfFile, ShopFile
from lampwright.findings.model import Finding
from lampwright.making import read_shelf, read_shop
from lampwright.propose import (
    BUILT_OF,
    COMES_TO,
    HELD_BY,
    SEEN,
    Candidate,
    Proposal,
    Setting,
    advice,
    covered,
    draw_candidates,
    piece_file_name,
    propose,
    read_brief,
    steps_up,
    write_candidate,
)
from lampwright.units import MakerError, Problem
from lampwright.written import write_whole

BriefFile = Annotated[Path, Parameter(help="The brief: the head of a piece file and a [wish] table.")]
Choose = Annotated[
    int,
    Parameter(validator=Number(gte=1, lte=99), help="Write this candidate's piece file, by its number in the table."),
]


def propose_designs(
    brief: BriefFile,
    /,
    *,
    choose: Choose | None = None,
    shelf: ShelfFile | None = None,
    shop: ShopFile | None = None,
    out: OutFolder = Path("out"),
    as_json: AsJson = False,
) -> int:
    """Search for first designs of a brief: what to build it of, at which cost, with which odds.

    Each candidate is a complete piece file that passes its check. Exit code 1: nothing meets the brief.
    """
    asked = read_brief(brief)
    setting = Setting(asked, read_shelf(shelf, asked.name) if shelf else (), read_shop(shop) if shop else ())
    with Bars() as bars:
        proposal = propose(setting, bars, datetime.date.today())
    written: list[Path] = []
    if proposal.candidates:
        out.mkdir(parents=True, exist_ok=True)
        picture = out / "candidates.svg"
        write_whole(picture, draw_candidates(proposal.name, proposal.candidates, proposal.currency))
        written.append(picture)
        if choose is not None:
            written.append(_write_chosen(proposal, choose, out))
    if as_json:
        print(json.dumps(_plain(proposal, written), indent=2, ensure_ascii=False))
    else:
        _print(proposal, written)
    return 0 if proposal.candidates else 1


def _write_chosen(proposal: Proposal, choose: int, out: Path) -> Path:
    if choose > len(proposal.candidates):
        allowed = f"a number from 1 to {len(proposal.candidates)}"
        do = "take a number from the table"
        raise MakerError([Problem("PROPOSE-003", "there is no such candidate", f"--choose {choose}", allowed, do)])
    path = out / piece_file_name(proposal.name)
    write_candidate(proposal.candidates[choose - 1], path, "choose another folder with --out, or move the file away")
    return path


def _print(proposal: Proposal, written: list[Path]) -> None:
    console = Console(highlight=False)
    if proposal.unmet is not None:
        finding = proposal.unmet
        console.print(f"{finding.summary} ({finding.code})", style="bold", soft_wrap=True)
        console.print(f"value: {finding.value}\nlimit: {finding.limit}\ndo:    {finding.do}", soft_wrap=True)
    elif not proposal.candidates:
        console.print("no design passed its sign-off: loosen a demand, or begin with lampwright new", style="bold")
    else:
        _print_table(console, proposal.candidates)
        for line in advice(proposal.candidates):
            console.print(line, soft_wrap=True)
        if any(each.advice for each in proposal.candidates):
            console.print()
        for step in steps_up(proposal.candidates, proposal.currency):
            console.print(step.told, soft_wrap=True)
            for line in step.more:
                console.print(f"        {line}", soft_wrap=True)
        if len(proposal.candidates) > 1:
            console.print()
    for line in covered(proposal):
        console.print(line, soft_wrap=True)
    for path in written:
        console.print(str(path), soft_wrap=True)
    console.print("Prices are judged unless you gave your own with --shop. A first design, no certificate: check it, "
                  "rehearse it, and let local codes and licensed practice come first.", soft_wrap=True)  # fmt: skip


def _print_table(console: Console, candidates: tuple[Candidate, ...]) -> None:
    chosen_to_hold = HELD_BY if any(each.design.rig.title for each in candidates) else {}
    for columns in (BUILT_OF, chosen_to_hold, COMES_TO, SEEN):
        if not columns:
            continue
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
        for title in ("", *columns):
            table.add_column(title, justify="left" if columns in (BUILT_OF, HELD_BY) else "right")
        for number, each in enumerate(candidates, 1):
            table.add_row(str(number), *(tell(each) for tell in columns.values()))
        console.print(table)
        console.print()


def _plain(proposal: Proposal, written: list[Path]) -> dict[str, object]:
    unmet = proposal.unmet
    return {
        "passed": bool(proposal.candidates),
        "currency": proposal.currency,
        "complete": proposal.found.is_complete,
        "options": proposal.found.n_option,
        "weighed": proposal.found.n_weighed,
        "unbeaten": len(proposal.found.options),
        "unmet": None if unmet is None else _plain_unmet(unmet),
        "candidates": [plain_candidate(number, each) for number, each in enumerate(proposal.candidates, 1)],
        "files": [str(path) for path in written],
    }


def _plain_unmet(unmet: Finding) -> dict[str, str]:
    return {key: getattr(unmet, key) for key in ("code", "summary", "value", "limit", "do")}


def _plain_rig(each: Candidate) -> dict[str, object]:
    """Return what was chosen to hold it up; what the brief states itself isn't in it."""
    rig = each.design.rig
    hanging = rig.hanging
    return {
        "members": [
            {
                "name": footing.member.name,
                "tube": None if footing.tube is None else footing.tube.name,
                "base_kg": None if footing.base is None else footing.base.mass,
            }
            for footing in rig.footings
        ],
        "carrier": None if hanging is None else hanging.carrier.name,
        "weak_link_n": None if hanging is None else hanging.weak_link,
    }


def plain_candidate(number: int, each: Candidate) -> dict[str, object]:
    """Return a candidate's decisions and figures, ready for JSON."""
    return {
        "number": number,
        "strip": each.design.strip.name,
        "grouping": each.design.grouping.title,
        "board": each.design.board.name,
        each.design.source_noun: each.design.source.name,
        "packs": each.design.packs,
        "brightness": each.design.level / 100,
        "circuits": each.n_circuit,
        "pixels": each.n_pixel,
        "cost": each.cost,
        "mass_kg": each.mass,
        "work_s": each.work,
        "set_up_s": each.set_up,
        "order_by": None if each.is_late else each.order_by.isoformat(),
        "ready_in_time": each.in_time,
        "run_time_s": None if math.isinf(each.run_time) else each.run_time,
        "odds": each.odds,
        "odds_low": each.odds_low,
        "odds_high": each.odds_high,
        "light_cd_per_m": each.seen.per_metre,
        "contrast": each.seen.contrast,
        "merges_from_m": each.seen.merges_from,
        "warnings": list(each.warnings),
        "advice": list(each.advice),
        "held_by": _plain_rig(each),
    }
