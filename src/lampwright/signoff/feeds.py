"""The cheapest feeds of a piece, held against every frame of its show."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lampwright.layout import CircuitLayout
from lampwright.power import (
    Case,
    FeedPlan,
    PricedWire,
    RailDraw,
    RailPart,
    cost_as_written,
    fed_by,
    gather_rails,
    hard_frames,
    is_guarded,
    n_frame_to_measure,
    rail_part,
    ready_rails,
    search_feeds,
)
from lampwright.show import CircuitShow, frames_at, render
from lampwright.signoff.check import Report
from lampwright.signoff.measure import BLOCK_FRAMES
from lampwright.signoff.progress import Progress

MOST_ROUNDS = 6
"""Plans that are tried against the whole show, each with the frames that the one before failed in (our choice)."""


@dataclass(frozen=True)
class RunFeeds:
    """The feeds of a run: what they cost as written, and the cheapest that would do."""

    run: str
    written_cost: float
    """Wire and work, in the currency of the prices."""
    plan: FeedPlan | None
    """``None``: none was found that holds the whole show."""


@dataclass(frozen=True)
class EntryFeeds:
    """The feeds of the circuits of one entry of the piece file, which are fed alike."""

    circuits: tuple[str, ...]
    runs: tuple[RunFeeds, ...]
    lowest_written: float  # supply of any pixel in any frame as written [V]
    least: float  # that pixels need [V]
    lowest: float | None
    """Supply of any pixel in any frame by these plans; ``None``: there are none. [V]"""

    is_guarded_written: bool
    """Whether every wire is guarded as written."""

    @property
    def is_found(self) -> bool:
        """Whether there are plans."""
        return self.lowest is not None


@dataclass(frozen=True, eq=False)
class _Entry:
    """Circuits of one entry: their shows, their rails as written, and their hard frames."""

    shows: tuple[CircuitShow, ...]
    draws: tuple[RailDraw, ...]
    hard: tuple[NDArray[np.uint8], ...]

    @property
    def least(self) -> float:
        return self.shows[0].layout.circuit.strip.supply_least.value


def plan_feeds(report: Report, wires: Sequence[PricedWire], progress: Progress) -> tuple[EntryFeeds, ...]:
    """Return the cheapest feeds of each circuit that keep every pixel at its least supply in every frame.

    Each run is planned in turn, with what was planned before it, on the hardest frames of the show; the whole is then
    held against every frame, and what fails is planned again with the frames in which it did.
    """
    entries: dict[str, list[int]] = {}
    for number, show in enumerate(report.shows):
        entries.setdefault(str(show.layout.circuit.wiring.place), []).append(number)
    progress.begin("feeds against every frame", MOST_ROUNDS * len(report.shows))
    found = []
    done = 0
    for numbers in entries.values():
        shows = tuple(report.shows[number] for number in numbers)
        draws = tuple(report.rails[number] for number in numbers)
        hard = tuple(frames_at(show, hard_frames(draw)) for show, draw in zip(shows, draws, strict=True))

        def follow(step: int, before: int = done) -> None:
            progress.reach(before + step)

        found.append(_plan_entry(_Entry(shows, draws, hard), wires, follow))
        done += MOST_ROUNDS * len(numbers)
        progress.reach(done)
    return tuple(found)


def _plan_entry(entry: _Entry, wires: Sequence[PricedWire], follow: Callable[[int], None]) -> EntryFeeds:
    """Return the feeds of an entry; ``follow`` is told how many circuits were held against the whole show so far."""
    costs = {run.run.name: cost_as_written(run, wires) for show in entry.shows for run in show.layout.runs}
    found = EntryFeeds(
        tuple(show.layout.circuit.name for show in entry.shows),
        tuple(RunFeeds(name, cost, None) for name, cost in costs.items()),
        min(float(draw.lowest.min()) for draw in entry.draws),
        entry.least,
        None,
        all(is_guarded(show.layout.circuit) for show in entry.shows),
    )
    for number in range(MOST_ROUNDS):
        planned = _plan_runs(entry, tuple(costs), wires)
        if planned is None:
            return found
        layouts, plans = planned
        shows = [replace(show, layout=layout) for show, layout in zip(entry.shows, layouts, strict=True)]
        held = []
        for show in shows:
            held.append(_whole_show(show))
            follow(number * len(shows) + len(held))
        if all(_holds(layout, draw) for layout, draw in zip(layouts, held, strict=True)):
            runs = tuple(replace(run, plan=plans[run.run]) for run in found.runs)
            return replace(found, runs=runs, lowest=min(float(draw.lowest.min()) for draw in held))
        more = [frames_at(show, hard_frames(draw)) for show, draw in zip(shows, held, strict=True)]
        entry = replace(entry, hard=tuple(np.concatenate(pair) for pair in zip(entry.hard, more, strict=True)))
    return found


def _plan_runs(
    entry: _Entry, names: Sequence[str], wires: Sequence[PricedWire]
) -> tuple[list[CircuitLayout], dict[str, FeedPlan]] | None:
    """Return the circuits with each of their runs fed at the least cost, and how; ``None`` where a run can't be."""
    plans = {}
    layouts = [show.layout for show in entry.shows]
    for name in names:
        cases = [
            Case(layout, run, codes)
            for layout, codes in zip(layouts, entry.hard, strict=True)
            for run in layout.runs
            if run.run.name == name
        ]
        plan = search_feeds(cases, entry.least, wires=wires)
        if plan is None:
            return None
        plans[name] = plan
        feeds = [site.feed(wire) for site, wire in zip(plan.sites, plan.wires, strict=True)]
        for number, layout in enumerate(layouts):
            for run in layout.runs:
                if run.run.name == name:
                    layouts[number] = fed_by(layout, run, feeds)
    return layouts, plans


def _holds(layout: CircuitLayout, draw: RailDraw) -> bool:
    """Return whether no pixel falls below its least supply, and every wire is guarded and carries what it may."""
    wires = [feed.cable.wire for run in layout.runs for feed in run.run.feeds]
    for wire, rms in zip(wires, draw.wire_rms[1:], strict=True):
        if float(rms) > wire.ampacity.value:
            return False
    return is_guarded(layout.circuit) and float(draw.lowest.min()) >= layout.circuit.strip.supply_least.value


def _whole_show(show: CircuitShow) -> RailDraw:
    """Return the rails of a circuit over everything that its show ever does."""
    rails = ready_rails(show.layout)
    n_frame = n_frame_to_measure(show)
    parts: list[RailPart] = []
    for first in range(0, n_frame, BLOCK_FRAMES):
        parts.append(rail_part(rails, render(show, first, min(BLOCK_FRAMES, n_frame - first)).codes))
    return gather_rails(show, rails, parts)
