"""``lampwright feeds``: the cheapest feeds that would do."""

from __future__ import annotations

import json

from rich.console import Console
from rich.table import Table

from lampwright.cli.bars import Bars
from lampwright.cli.options import AsJson, PieceFile, ShopFile
from lampwright.making import read_shop, wire_prices
from lampwright.parts import catalogue_currency
from lampwright.piece import read_piece
from lampwright.signoff import EntryFeeds, RunFeeds, plan_feeds, sign_off
from lampwright.units import format_quantity


def feeds(piece: PieceFile, /, *, shop: ShopFile | None = None, as_json: AsJson = False) -> int:
    """Find the cheapest feeds that hold every frame: how many, where on each run, by which wire.

    Wire costs what your list or else the catalogue says, each feed half an hour of work. Exit code 1: for some circuit
    none was found.
    """
    with Bars() as bars:
        report = sign_off(read_piece(piece), bars)
        found = plan_feeds(report, wire_prices(read_shop(shop) if shop else ()), bars)
    if as_json:
        print(json.dumps([_plain(each) for each in found], indent=2, ensure_ascii=False))
    else:
        _print(found, report.piece.brief.currency or catalogue_currency())
    return 0 if all(each.is_found for each in found) else 1


def _print(found: tuple[EntryFeeds, ...], currency: str) -> None:
    console = Console(highlight=False)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for column in ("circuit", "run", "cheapest feeds that hold"):
        table.add_column(column)
    for column in ("cost", "as written"):
        table.add_column(column, justify="right")
    for each in found:
        for number, run in enumerate(each.runs):
            cost = f"{run.plan.cost:.2f}" if run.plan else ""
            table.add_row("" if number else _named(each), run.run, _told(run), cost, f"{run.written_cost:.2f}")
    console.print(table)
    console.print()
    for each in found:
        now, least = (format_quantity(volts, "voltage") for volts in (each.lowest_written, each.least))
        then = f", so {format_quantity(each.lowest, 'voltage')}" if each.lowest is not None else ""
        keep = "; as written it holds and costs no more: keep it" if _is_best_as_written(each) else ""
        console.print(f"{_named(each)}: lowest supply as written {now}{then}; at least {least}{keep}")
    console.print(
        f"Costs are of one circuit, in {currency}: half an hour of work for each feed, judged; wire as in "
        "your list, else judged. Every frame was weighed."
    )
    console.print("A cable to a new place goes along the run; each is thick enough for the fuse in the lead.")


def _named(each: EntryFeeds) -> str:
    first, last = each.circuits[0], each.circuits[-1]
    return first if len(each.circuits) == 1 else f"{first} to {last}"


def _is_best_as_written(each: EntryFeeds) -> bool:
    """Whether the feeds as written hold and are guarded, and all runs together cost no more than what was found."""
    planned = sum(run.plan.cost for run in each.runs if run.plan is not None)
    written = sum(run.written_cost for run in each.runs)
    return each.is_found and each.is_guarded_written and each.lowest_written >= each.least and written <= planned


def _told(run: RunFeeds) -> str:
    if run.plan is None:
        return "none found: lower the brightness, or take a stronger pack"
    return run.plan.told


def _plain(each: EntryFeeds) -> dict[str, object]:
    return {
        "circuits": list(each.circuits),
        "lowest_as_written": each.lowest_written,
        "lowest": each.lowest,
        "runs": [
            {
                "run": run.run,
                "cost_as_written": round(run.written_cost, 2),
                "cost": round(run.plan.cost, 2) if run.plan else None,
                "feeds": [
                    {"at": site.at, "wire": wire.name, "length": site.length}
                    for site, wire in zip(run.plan.sites, run.plan.wires, strict=True)
                ]
                if run.plan
                else [],
            }
            for run in each.runs
        ],
    }
