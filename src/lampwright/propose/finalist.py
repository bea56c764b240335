"""Turn an option into a candidate: feeds planned, signed off against every frame, priced and dated for good."""

from __future__ import annotations

import dataclasses
import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from lampwright.faults import embody, work_out_odds
from lampwright.findings.model import Finding, Severity
from lampwright.layout import CircuitLayout, Layout, lay_out
from lampwright.making import (
    Calendar,
    Hours,
    MaterialCuts,
    ShoppingList,
    Week,
    cut_all,
    plan_week,
    shopping_list,
    wire_prices,
)
from lampwright.making.week import SAFE_CHANCE, tasks_of
from lampwright.piece.model import Circuit
from lampwright.piece.read import piece_from_text
from lampwright.power import Case, Draw, FeedPlan, PricedWire, fed_by, hard_frames, search_feeds
from lampwright.power.drain import drain, energy_left, load_of
from lampwright.propose.build import Setting
from lampwright.propose.design import Design, Feeding, piece_of, write_design
from lampwright.propose.seen import Seen, as_seen
from lampwright.propose.weigh import Option
from lampwright.show import compile_show, frames_at
from lampwright.signoff import Report, Silent, sign_off
from lampwright.units import MakerError

VOLT_CARE = 0.05
"""What feeds are planned above a pixel's least supply, since they are planned on some frames only (our choice). [V]"""

N_PLAN = 3
"""Times feeds are planned, each time on the frames too in which those before failed (our choice)."""

N_HARD = 3
"""Frames on which feeds are planned: those of the most light among the moments looked at (our choice)."""

N_LOOKED_AT = 48

MOST_LATE = 366
"""Days by which a show is thought later, at most (our choice)."""

N_TRY = 5
"""Times a design that fails its sign-off is tried again at less brightness (our choice)."""

FED_BETTER = frozenset(("POWER-010", "POWER-011", "POWER-012"))
"""Findings on rails, which other feeds may mend."""

DIMMER = 0.7
"""By which share it is then dimmed (our choice)."""


@dataclass(frozen=True)
class Candidate:
    """A design that passed its sign-off, and all that a maker chooses by."""

    design: Design
    text: str
    """The piece file."""
    cost: float  # of what is bought, in whole units of the currency
    mass: float  # members, strip, packs, and bases whose mass is known [kg]
    work: float  # of hands [s]
    set_up: float  # on site [s]
    order_by: datetime.date
    is_late: bool
    """Whether even an order on the first day is late."""
    in_time: float  # chance of being ready in time [1]
    run_time: float  # in the cold, of the circuit whose pack is empty first [s]
    odds: float  # at the mean rates [1]
    odds_low: float
    odds_high: float
    """Nine out of ten sets of rates give odds between these."""
    seen: Seen
    n_circuit: int
    n_pixel: int
    warnings: tuple[str, ...]
    """Codes of findings that warn."""
    advice: tuple[str, ...] = ()
    """What to do about each of them, a line a code."""
    findings: tuple[Finding, ...] = ()
    """All of its sign-off."""
    days_late: int = 0
    """By how many days later the show would have to be for it to be ready in time."""

    JUDGED: ClassVar[frozenset[str]] = frozenset(("cost", "run_time", "odds", "set_up", "level", "days_late", "pitch"))
    """Figures that demands are held against once a design is finished."""

    @property
    def level(self) -> float:
        """Share of full drive. [1]"""
        return self.design.level / 100

    @property
    def pitch(self) -> float:
        """From pixel to pixel. [m]"""
        return 1 / self.design.strip.density.value


@dataclass(frozen=True)
class Work:
    """What a worker needs to make a candidate of an option."""

    setting: Setting
    design: Design
    shares: tuple[float, float, float]
    mass: float
    set_up: float
    begin: datetime.date
    least_level: int
    excused: frozenset[str] = frozenset()
    """Codes of findings that may fail: those of a demand that is looked past, to see what it would have to be."""


def work_on(option: Option, begin: datetime.date, excused: frozenset[str] = frozenset()) -> Work:
    """Return the work that makes a candidate of an option; ``begin`` is the first day of work."""
    build, figures = option.build, option.figures
    least = min(round(100 * build.setting.asked.wish.brightness), option.level)
    return Work(build.setting, option.design(), build.shares, figures.mass, figures.set_up, begin, least, excused)


def make_candidate(work: Work) -> Candidate | None:
    """Return a candidate that passes its sign-off, if need be at less brightness; ``None`` where none does."""
    design = work.design
    for _ in range(N_TRY):
        try:
            found = _signed_off(work, design)
        except MakerError:
            return None  # what no firmware can be written for is no candidate
        if found is not None:
            return _candidate(work, *found)
        level = int(design.level * DIMMER)
        if level < max(1, work.least_level) or level == design.level:
            return None
        design = dataclasses.replace(design, level=level)
    return None


def _signed_off(work: Work, design: Design) -> tuple[Design, Report] | None:
    """Return a design with feeds, and the report that it passes, without a warning of its rails if feeds avoid that."""
    passed = None
    layout = lay_out(piece_of(work.setting.asked, design))
    frames = _hard_frames(layout)
    for _ in range(N_PLAN):
        fed = feed_design(work.setting, design, layout, frames)
        if fed is None:
            break
        report = sign_off(piece_of(work.setting.asked, fed), Silent())
        failing = {each.code for each in report.findings if each.severity is Severity.FAIL} - work.excused
        warning = {each.code for each in report.findings if each.severity is Severity.WARN}
        if not failing:
            passed = passed or (fed, report)
            if not warning & FED_BETTER:
                return fed, report
        elif not failing <= FED_BETTER:
            break
        frames = [np.concatenate(pair) for pair in zip(frames, _failing_frames(report), strict=True)]
    return passed


def _failing_frames(report: Report) -> list[NDArray[np.uint8]]:
    """Return the frames of the lowest supply of each circuit, (N_HARD, n_pixel, 3)."""
    found = []
    for show, rail in zip(report.shows, report.rails, strict=True):
        numbers = sorted(hard_frames(rail), key=lambda number: float(rail.lowest[number]))[:N_HARD]
        found.append(frames_at(show, np.array(numbers, dtype=np.int64)))
    return found


def feed_design(setting: Setting, design: Design, layout: Layout, frames: Sequence[NDArray[np.uint8]]) -> Design | None:
    """Return a design with the cheapest feeds that hold some frames of each circuit; ``None``: none do."""
    wires = wire_prices(setting.shop)
    feedings: dict[tuple[str, str], Feeding] = {}
    first = 0
    for entry in design.grouping.entries:
        numbers = range(first, first + entry.count)
        first += entry.count
        circuits = [layout.circuits[number] for number in numbers]
        codes = [frames[number] for number in numbers]
        # circuits of one entry differ by what they lack; the fullest of them is the hardest to feed
        fullest = max(range(len(circuits)), key=lambda number: circuits[number].n_pixel)
        circuit = circuits[fullest]
        like = [mine for other, mine in zip(circuits, codes, strict=True) if other.n_pixel == circuit.n_pixel]
        brightest = max(like, key=lambda mine: int(mine[:N_HARD].sum()))[:N_HARD]
        hardest = np.concatenate([brightest, *(mine[N_HARD:] for mine in like)])
        for run in entry.runs:
            planned = _plan_run(circuit, run.name, hardest, wires)
            if planned is None:
                return None
            plan, circuit = planned
            feedings[entry.name, run.name] = Feeding(
                tuple(
                    (site.at, wire.name, round(site.length + 0.005, 2))
                    for site, wire in zip(plan.sites, plan.wires, strict=True)
                )
            )
    return dataclasses.replace(design, feedings=feedings)


def _plan_run(
    circuit: CircuitLayout, name: str, codes: NDArray[np.uint8], wires: Sequence[PricedWire]
) -> tuple[FeedPlan, CircuitLayout] | None:
    run = next(each for each in circuit.runs if each.run.name == name)
    least = circuit.circuit.strip.supply_least.value + VOLT_CARE
    plan = search_feeds([Case(circuit, run, codes)], least, wires=wires)
    if plan is None:
        return None
    feeds = [site.feed(wire) for site, wire in zip(plan.sites, plan.wires, strict=True)]
    return plan, fed_by(circuit, run, feeds)


def _hard_frames(layout: Layout) -> list[NDArray[np.uint8]]:
    """Return the frames of the most light of each circuit, (N_HARD, n_pixel, 3)."""
    found = []
    for show in compile_show(layout):
        numbers = show.standby_frames + (np.arange(N_LOOKED_AT) + 0.5) * show.pass_frames / N_LOOKED_AT
        frames = frames_at(show, numbers.astype(np.int64))
        order = np.argsort(frames.sum(axis=(1, 2), dtype=np.int64))
        found.append(frames[order[-N_HARD:]])
    return found


def _candidate(work: Work, design: Design, report: Report) -> Candidate:
    setting, layout = work.setting, report.layout
    wish, brief = setting.asked.wish, report.piece.brief
    cuts = cut_all(layout, setting.shelf, setting.shop)
    bought = shopping_list(layout, cuts, setting.shelf, setting.shop)
    hours = report.piece.work
    calendar = Calendar(hours.from_time, min(hours.hours, 24 * 3600.0 - hours.from_time))
    plan = Hours(work.begin, calendar, 1 + hours.helpers)
    week = plan_week(layout, cuts, bought, plan)
    tasks = tasks_of(layout, cuts, bought, {}, {})
    hands = sum(task.likely for task in tasks if not task.is_wait and not task.name.startswith("soak test"))
    lasts = min(
        _lasts(show.layout.circuit, draw, brief.coldest) for show, draw in zip(report.shows, report.draws, strict=True)
    )
    odds = work_out_odds(embody(layout))
    shares = [share * design.level / 100 for share in work.shares]
    total = bought.total / 100
    late = _days_late(report, cuts, bought, plan) if _is_late(week) else 0
    order_by = min((each.day for each in week.order_by), default=brief.date)
    seen = as_seen(design.strip, shares, wish.seen_from, wish.surroundings)
    candidate = Candidate(
        design,
        "",
        total,
        work.mass,
        hands,
        work.set_up,
        order_by,
        _is_late(week),
        week.chance,
        lasts - brief.standby,
        odds.holds,
        odds.low,
        odds.high,
        seen,
        len(layout.circuits),
        sum(each.n_pixel for each in layout.circuits),
        tuple(sorted({each.code for each in report.findings if each.severity is Severity.WARN})),
        _advice(report),
        report.findings,
        late,
    )
    text = write_design(setting.asked, design, told(candidate))
    piece_from_text(text, setting.asked.file)
    return dataclasses.replace(candidate, text=text)


def _advice(report: Report) -> tuple[str, ...]:
    """Return what to do about each code that warns, as its first finding tells it."""
    found: dict[str, str] = {}
    for each in report.findings:
        if each.severity is Severity.WARN:
            found.setdefault(each.code, f"{each.code}, {each.subject}: {each.do}")
    return tuple(found[code] for code in sorted(found))


def _is_late(week: Week) -> bool:
    return week.chance < SAFE_CHANCE or any(each.is_past for each in week.order_by)


def _days_late(report: Report, cuts: Sequence[MaterialCuts], bought: ShoppingList, hours: Hours) -> int:
    """Return by how many days later the show would do, found by doubling and halving; never more than a year."""
    layout, brief = report.layout, report.piece.brief

    def is_enough(days: int) -> bool:
        later = dataclasses.replace(brief, date=brief.date + datetime.timedelta(days=days))
        piece = dataclasses.replace(layout.piece, brief=later)
        return not _is_late(plan_week(dataclasses.replace(layout, piece=piece), cuts, bought, hours))

    high = 1
    while high < MOST_LATE and not is_enough(high):
        high *= 2
    low = high // 2  # not enough, or none
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if is_enough(middle) else (middle, high)
    return high


def _lasts(circuit: Circuit, draw: Draw, coldest: float) -> float:
    """Return until when a circuit shines in the cold, without end where a supply feeds it. [s]"""
    if circuit.is_on_mains:
        return math.inf
    return drain(load_of(draw), circuit, energy_left(circuit, coldest)).lasts


def told(candidate: Candidate) -> tuple[str, ...]:
    """Return what a candidate comes to, as lines for the head of its file."""
    seen = candidate.seen
    lasts = f"{candidate.run_time / 3600:.1f} h in the cold"
    if math.isinf(candidate.run_time):
        lasts = "as long as the mains is on"
    how = "its pixels merge to a line" if seen.is_line else f"its pixels merge beyond {seen.merges_from:.0f} m"
    return (
        f"Proposed: {candidate.n_circuit} circuits, {candidate.n_pixel} pixels, {candidate.cost:.0f} to buy by the "
        f"prices it was made with,",
        f"{lasts}, odds {100 * candidate.odds:.2f} %, {seen.contrast:.0f} times as bright as its surroundings; {how}.",
        "Change what you like, then check it again.",
    )
