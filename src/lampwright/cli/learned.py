"""What inspections taught, as a table: what was judged, what was seen, what that makes together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import Console
from rich.table import Table

from lampwright.faults import Learned
from lampwright.faults.every import Body, every_fault
from lampwright.faults.kinds import Per
from lampwright.faults.learned import FEW_PIECES


def print_learned(console: Console, body: Body, learned: Sequence[Learned]) -> None:
    """Print each kind of fault and wear that was watched, those that moved most first."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("learned from inspections")
    for heading in ("judged as if", "seen", "both together", "nine in ten, from", "to"):
        table.add_column(heading, justify="right")
    counted = set(_counted(body, learned))
    for each in learned:
        per = "nights" if each.prior.per is Per.NIGHT else "hours"
        judged = f"{each.prior.bad:.3g} in {_whole(each.prior.watched)} {per}"
        seen = f"{each.seen.failures} in {_whole(each.seen.watched)}"
        seldom, often = each.span
        cells = (_rate(value) for value in (each.rate.mean, seldom, often))
        table.add_row(each.title + ("" if each in counted else " *"), judged, seen, *cells)
    console.print()
    console.print(table)
    if len(counted) < len(learned):
        console.print("* No odds of this piece rest on it.")
    pieces = max((each.seen.n_piece for each in learned), default=0)
    if pieces < FEW_PIECES:
        told = "one inspected piece" if pieces == 1 else f"{pieces} inspected pieces"
        console.print(f"From {told}: little is known yet, and what is judged still weighs.")


def learned_plain(body: Body, learned: Sequence[Learned]) -> list[dict[str, object]]:
    """Return what was learned as plain data."""
    counted = set(_counted(body, learned))
    return [_plain(each) | {"counts_in_odds": each in counted} for each in learned]


def _counted(body: Body, learned: Sequence[Learned]) -> Iterator[Learned]:
    """Yield what the odds of this piece rest on: what one of its faults is."""
    faults = {(fault.kind, fault.place) for fault in every_fault(body)}
    kinds = {kind for kind, _ in faults}
    for each in learned:
        if each.kind in kinds if each.place is None else (each.kind, each.place) in faults:
            yield each


def _plain(each: Learned) -> dict[str, object]:
    low, high = each.span
    return {
        "kind": each.kind.value,
        "place": each.place.value if each.place else "",
        "per": each.prior.per.value,
        "judged": each.prior.mean,
        "judged_as_if_failures": each.prior.bad,
        "judged_as_if_watched": each.prior.watched,
        "failures": each.seen.failures,
        "watched": each.seen.watched,
        "pieces": each.seen.n_piece,
        "now": each.rate.mean,
        "low": low,
        "high": high,
    }


def _rate(value: float) -> str:
    """Return a rate as one in so many: "1 in 200"."""
    return "never" if value <= 0 else f"1 in {_whole(1 / value)}"


def _whole(value: float) -> str:
    """Return a number with about three digits, thousands apart."""
    return f"{value:.3g}" if value < 100 else f"{float(f'{value:.3g}'):,.0f}"
