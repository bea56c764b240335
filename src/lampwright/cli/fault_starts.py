"""``lampwright faults --starts``: how far circuits run apart, and in which cues that shows."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table

from lampwright.faults import Starts, switch_on
from lampwright.faults.every import Body
from lampwright.layout import Layout
from lampwright.rehearsal import apart_after, noticed_after
from lampwright.show import Unison, compile_show, unison
from lampwright.units import format_quantity


def print_starts(console: Console, layout: Layout, body: Body, people: int) -> None:
    """Print who switches what on when, what the clocks add, and from when on each cue shows it."""
    found, noun = switch_on(body, people), layout.piece.sources_noun
    console.print()
    console.print(_way(found, layout.piece.brief.standby))
    if not found.is_shortest:
        several = noun.replace("pack", "packs").replace("supply", "supplies")
        console.print(f"Of so many {several} the way is a good one, not proven the shortest.")
    tolerance = max(circuit.board.clock_tolerance.value for circuit in layout.piece.circuits)
    evening = layout.piece.brief.standby + layout.piece.brief.run_time
    apart = apart_after(found.spread, tolerance, evening)
    console.print(
        f"From the first {noun} to the last: {_say(found.spread)}. Clocks add up to {_say(apart - found.spread)} until "
        f"the end; alone they bring two circuits 40 ms apart in {_say(noticed_after(tolerance, 0.040))}."
    )
    if len(layout.circuits) > 1:
        console.print()
        console.print(_cues(layout, unison(compile_show(layout)), found.spread))


def _way(found: Starts, standby: float) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("switched on")
    for heading in ("by", "after", "show begins after"):
        table.add_column(heading, justify="right", no_wrap=True)
    for each in found.starts:
        table.add_row(each.circuit, f"person {each.person}", _say(each.seconds), _say(each.seconds + standby))
    return table


def _cues(layout: Layout, apart: tuple[Unison, ...], spread: float) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("look")
    table.add_column("being out of step")
    told = set()
    for each in apart:
        look = layout.piece.show.cues[each.cue].look
        line = _shows(each.apart, spread)
        if (look, line) not in told:
            told.add((look, line))
            table.add_row(look, line)
    return table


def _shows(apart: float | None, spread: float) -> str:
    if apart is None:
        return "doesn't show: each circuit goes its own way"
    if apart > spread:
        return f"shows from {_say(apart)} on, more than there is"
    return (
        f"shows from {_say(apart)} on: press all reset buttons at once, or choose a look in which each circuit goes "
        "its own way"
    )


def _say(seconds: float) -> str:
    return format_quantity(round(seconds) if seconds >= 10 else float(f"{seconds:.3g}"), "time")
