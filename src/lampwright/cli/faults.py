"""``lampwright faults``: what can go wrong, what it costs, and whether enough stays lit."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter
from cyclopts.validators import Number
from rich.console import Console
from rich.padding import Padding
from rich.table import Table

from lampwright.cli.fault_starts import print_starts
from lampwright.cli.learned import learned_plain, print_learned
from lampwright.cli.options import AsJson, PieceFile
from lampwright.cli.table import FindingsTable, findings_json
from lampwright.faults import (
    CONFIDENCE,
    Arrangement,
    Odds,
    Outage,
    Spare,
    Survey,
    cheapest_enough,
    compare_arrangements,
    draw_outage,
    judge_odds,
    judge_starts,
    judge_survival,
    learned_rates,
    pack_case,
    plan_spares,
    repairs,
    shares_lit,
    survey,
    what_was_learned,
    work_out_odds,
)
from lampwright.faults.learned import Watching
from lampwright.faults.survey import JUDGED, LEARNED
from lampwright.findings.model import Severity
from lampwright.layout import lay_out
from lampwright.piece import read_piece
from lampwright.stock import open_stock, seen_so_far

N_SHOWN = 8

Pictures = Annotated[
    Path | None, Parameter(name="--pictures", help="Also draw the worst faults, and the piece with what they take.")
]
Nights = Annotated[
    int,
    Parameter(name="--spares", help="Also tell what to bring for so many nights.", validator=Number(gte=0, lte=1000)),
]
Stock = Annotated[Path, Parameter(name="--shelf", help="Stock book, whose inspections teach the rates.")]
People = Annotated[
    int,
    Parameter(
        name="--starts",
        help="Also tell how far circuits run apart when so many people switch them on.",
        validator=Number(gte=0, lte=100),
    ),
]
Repair = Annotated[
    bool, Parameter(name="--repair", negative="", help="Also tell the crew what to do about each fault.")
]

Arrangements = Annotated[
    bool, Parameter(name="--arrangements", negative="", help="Also compare the piece with others built otherwise.")
]

Beside = Annotated[
    tuple[Path, ...],
    Parameter(
        name="--beside",
        negative="",
        help="Also compare it with this variant of your own; may be repeated.",
    ),
]

CASE_MASS, CASE_VOLUME = 4.0, 0.006
"""What one person carries along with everything else: 4 kg [kg], 6 l [m³] (our choice)."""


def faults(
    piece: PieceFile,
    /,
    *,
    pictures: Pictures = None,
    arrangements: Arrangements = False,
    beside: Beside = (),
    spares: Nights = 0,
    starts: People = 0,
    shelf: Stock | None = None,
    repair: Repair = False,
    as_json: AsJson = False,
) -> int:
    """Go through every fault of a piece and every pair of them.

    Ranked by what they cost the show. Exit code 0: the brief's demand holds; 1: it is broken, by a fault that is named.
    """
    layout = lay_out(read_piece(piece))
    found = survey(layout)
    seen = _seen(shelf)
    known = learned_rates(seen)
    odds = work_out_odds(found.body, known)
    planned = plan_spares(found.body, spares, known=known) if spares else ()
    begun = judge_starts(found.body)
    findings = (
        judge_survival(found),
        judge_odds(found, odds, LEARNED if seen else JUDGED),
        *([begun] if begun else []),
    )
    is_broken = any(finding.severity is Severity.FAIL for finding in findings)
    others = {path.name: survey(lay_out(read_piece(path))).body for path in beside}
    compared: tuple[Arrangement, ...] = ()
    if arrangements or others or is_broken:  # a demand that is broken needs a way out
        compared = compare_arrangements(found.body, others, known)
    if pictures is not None:
        pictures.mkdir(parents=True, exist_ok=True)
        for number, outage in enumerate((*found.singles[:3], *found.pairs[:1]), 1):
            draw_outage(layout, found.body, outage, pictures / f"fault-{number}.png")
    if as_json:
        rows = {
            "singles": _plain(found, found.singles[:N_SHOWN]),
            "pairs": _plain(found, found.pairs[:N_SHOWN]),
            "odds": _odds(odds),
            "spares": _listed(planned),
            "arrangements": _compared(compared),
            "learned": learned_plain(found.body, what_was_learned(seen)),
        }
        print(json.dumps(json.loads(findings_json(layout.piece.brief.name, findings)) | rows, indent=2))
    else:
        console = Console(highlight=False)
        console.print(f"{layout.piece.brief.name}: {len(found.faults)} faults", style="bold")
        _print(console, "worst alone", found.singles)
        _print_parts(console, found)
        _print(console, "worst pairs", found.pairs)
        if compared:
            _print_arrangements(console, compared)
        if planned:
            _print_spares(console, planned, spares)
        if starts:
            print_starts(console, layout, found.body, starts)
        if seen:
            print_learned(console, found.body, what_was_learned(seen))
        if repair:
            console.print()
            for path in repairs(found.body):
                console.print(path.sees, style="bold")
                for step in path.steps:
                    console.print(Padding(step, (0, 0, 0, 2)))
        console.print()
        console.print(FindingsTable(findings))
        if pictures is not None:
            console.print(f"pictures in {pictures}", soft_wrap=True)
    return 1 if is_broken else 0


def _seen(shelf: Path | None) -> Watching:
    """Return what all inspections of a stock book saw; nothing without one."""
    if shelf is None:
        return {}
    with open_stock(shelf) as book:
        return seen_so_far(book)


def _print(console: Console, title: str, outages: Sequence[Outage]) -> None:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column(title)
    for heading in ("pixels lit", "circuits lit", "cost"):
        table.add_column(heading, justify="right", no_wrap=True)
    for outage in outages[:N_SHOWN]:
        more = f" (and {len(outage.names) - 1} alike)" if len(outage.names) > 1 else ""
        lit = (f"{100 * share:.0f} %" for share in (outage.pixels_lit, outage.circuits_lit))
        table.add_row(outage.names[0] + more, *lit, f"{outage.cost / 60:.1f} min")
    console.print()
    console.print(table)


def _print_parts(console: Console, found: Survey) -> None:
    """Print what the worst fault leaves of each part that it touches."""
    worst = found.worst_single()
    touched = {name: share for name, share in shares_lit(found.body, worst.lost).items() if share < 1.0}
    console.print()
    console.print(
        f"{worst.names[0]}: " + "; ".join(f"{name} {100 * share:.0f} % lit" for name, share in touched.items())
    )


def _print_arrangements(console: Console, compared: Sequence[Arrangement]) -> None:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("arrangement, by share of pixels")
    for heading in ("demand", "worst", "mean", "holds", "money", "mass", "work"):
        table.add_column(heading, justify="right", no_wrap=True)
    for each in compared:
        met = "met" if each.is_enough else "broken"
        shares = (f"{100 * each.lit_at_worst:.0f} %", f"{100 * each.mean_lit:.1f} %", f"{100 * each.holds:.1f} %")
        extra = (f"{each.extra.money:+.0f}", f"{each.extra.mass:+.1f} kg", f"{each.extra.hours:+.1f} h")
        table.add_row(each.name, met, *shares, *extra)
    console.print()
    console.print(table)
    console.print(
        "demand: the brief's, after its failures; worst: lit after the worst fault; mean: lit in the mean; holds: "
        "chance that the brief's share of pixels stays lit. Best for its money first. Money, mass and work beyond the "
        "piece as written, by judgement."
    )
    if not compared[0].is_enough:
        console.print(_way_out(cheapest_enough(compared)))


def _way_out(enough: Arrangement | None) -> str:
    """Return which arrangement meets a demand that the piece as written doesn't."""
    if enough is None:
        return "None of these meets the demand."
    extra = enough.extra
    return (
        f"Meets the demand for the least money: {enough.name} ({extra.money:+.0f} in money, {extra.mass:+.1f} kg, "
        f"{extra.hours:+.1f} h)."
    )


def _compared(compared: Sequence[Arrangement]) -> list[dict[str, object]]:
    return [
        {
            "name": each.name,
            "meets_demand": each.is_enough,
            "broken_by": list(each.broken_by),
            "pixels_lit_at_worst": each.lit_at_worst,
            "pixels_lit_in_the_mean": each.mean_lit,
            "holds": each.holds,
            "money": each.extra.money,
            "kilograms": each.extra.mass,
            "hours": each.extra.hours,
        }
        for each in compared
    ]


def _print_spares(console: Console, planned: Sequence[Spare], nights: int) -> None:
    """Print what to bring, and what of it fits the case."""
    packed = pack_case(planned, CASE_MASS, CASE_VOLUME)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column(f"spares for {nights} nights" if nights > 1 else "spares for one night")
    for heading in ("fail in the mean", f"bring, for {100 * CONFIDENCE:.0f} %", "fits the case"):
        table.add_column(heading, justify="right", no_wrap=True)
    for spare in planned:
        fits = str(packed.counts[spare.item.name])
        table.add_row(spare.item.title, f"{spare.expected:.2g}", str(spare.count), fits)
    console.print()
    console.print(table)
    console.print(
        f"case of {CASE_MASS:g} kg and {CASE_VOLUME * 1e3:g} l: filled with {packed.mass:.2f} kg and "
        f"{packed.volume * 1e3:.2f} l; nothing is missing with {100 * packed.confidence:.0f} %",
    )


def _listed(planned: Sequence[Spare]) -> list[dict[str, object]]:
    return [
        {"part": each.item.title, "expected": each.expected, "bring": each.count, "confidence": each.confidence}
        for each in planned
    ]


def _plain(found: Survey, outages: Sequence[Outage]) -> list[dict[str, object]]:
    return [
        {
            "faults": list(outage.names),
            "pixels_lit": outage.pixels_lit,
            "circuits_lit": outage.circuits_lit,
            "cost_seconds": outage.cost,
            "parts_lit": dict(shares_lit(found.body, outage.lost)),
        }
        for outage in outages
    ]


def _odds(odds: Odds) -> dict[str, object]:
    reductions = {kind.value: weight for kind, weight in odds.weights}
    return {"holds": odds.holds, "low": odds.low, "high": odds.high, "risk_reduction": reductions}
