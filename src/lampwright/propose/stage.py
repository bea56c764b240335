"""From a brief to its candidates: builds made, options searched, finalists signed off side by side."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, wait
from dataclasses import dataclass

from lampwright.findings.model import Finding
from lampwright.parts import Catalogue, catalogue_currency, load_catalogue
from lampwright.piece.model import Piece
from lampwright.propose.build import Setting
from lampwright.propose.demands import Demand, date_demand, demands_of, quiet_demands
from lampwright.propose.finalist import Candidate, Work, make_candidate, work_on
from lampwright.propose.search import Found, search, weigh_all
from lampwright.propose.space import Space, in_wind, make_space, plain_layout
from lampwright.propose.unmet import Edit, Unmet, judge_candidates, judge_unheld, judge_unmet
from lampwright.propose.weigh import Option
from lampwright.signoff import Progress
from lampwright.units import MakerError
from lampwright.workers import Workers

N_SHOWN = 6
"""Candidates that are signed off and shown (our choice)."""

N_ROUND = 3
"""Times as many options are signed off again while all that were before miss a demand (our choice)."""

LOOK_EVERY = 0.2
"""Between two looks at whether the sign-offs are still wanted. [s]"""

WIND_STEP = 0.1
"""To which a wind is found that something holds in. [m/s]"""


@dataclass(frozen=True)
class Proposal:
    """The answer to a brief."""

    name: str
    candidates: tuple[Candidate, ...]
    """Signed off, the cheapest first."""
    found: Found
    currency: str
    n_failed: int
    """Finalists that no brightness carried through their sign-off, or that missed a demand once they were finished."""
    unmet: Finding | None
    """Why there is none."""
    ways_out: tuple[tuple[Edit, ...], ...] = ()
    """Edits of the brief after each of which there would be some, the smallest change first."""

    @property
    def n_hardware(self) -> int:
        """How many unbeaten options there are that differ in more than brightness."""
        return len({option.decisions for option in self.found.options})


@dataclass(frozen=True)
class _Search:
    """All that a search for a brief needs."""

    setting: Setting
    catalogue: Catalogue
    space: Space
    probe: Piece
    demands: tuple[Demand, ...]
    begin: datetime.date
    progress: Progress

    @property
    def date(self) -> Demand:
        return date_demand(self.probe.brief)


def propose(setting: Setting, progress: Progress, today: datetime.date, catalogue: Catalogue | None = None) -> Proposal:
    """Return candidates for a brief, or why there are none.

    An error that ``progress`` raises ends the search, its workers too.

    Raises
    ------
    MakerError
        What is wrong with the brief, at its lines.
    """
    try:
        return _propose(setting, progress, today, catalogue or load_catalogue())
    except MakerError as error:
        raise MakerError(setting.asked.placed(error.problems)) from error


def _propose(setting: Setting, progress: Progress, today: datetime.date, catalogue: Catalogue) -> Proposal:
    space, probe = make_space(setting, progress, catalogue)
    demands = demands_of(setting.asked.wish, probe.brief)
    task = _Search(setting, catalogue, space, probe, demands, probe.work.begin or today, progress)
    name, currency = probe.brief.name, probe.brief.currency or catalogue_currency()
    found = search_quietly(space, demands, quiet_demands(probe.brief), progress)
    if not found.options:
        why = _why_none(task)
        return Proposal(name, (), found, currency, 0, why.finding, why.ways_out)
    every = (*demands, task.date)
    signed, n_tried = _finish(found.options, task, every)
    candidates = _without_beaten([each for each in signed if _meets(each, every)])
    unmet = None if candidates or not signed else judge_candidates(name, signed, every)
    n_failed = n_tried - sum(_meets(each, every) for each in signed)
    if unmet is None:
        return Proposal(name, candidates, found, currency, n_failed, None)
    return Proposal(name, (), found, currency, n_failed, unmet.finding, unmet.ways_out)


def search_quietly(
    space: Space, demands: Sequence[Demand], quiet: Sequence[Demand], progress: Progress | None = None
) -> Found:
    """Return what meets all demands, without a warning where any choice avoids it."""
    found = search(space, (*demands, *quiet), progress)
    for kept in (quiet[1:], quiet[:1], ()):
        if not found.options:
            found = search(space, (*demands, *kept), progress)
    return found


def members_of(setting: Setting, catalogue: Catalogue | None = None) -> Piece:
    """Return a piece of a brief's members under the sparsest strip.

    Raises
    ------
    MakerError
        Everything that is wrong with the brief, as far as it can be told before anything is searched, at its lines.
    """
    try:
        return plain_layout(setting, catalogue or load_catalogue()).piece
    except MakerError as error:
        raise MakerError(setting.asked.placed(error.problems)) from error


def choose_finalists(options: Sequence[Option]) -> tuple[Option, ...]:
    """Return options that differ in the decisions that matter: the best by each count, then the cheapest.

    Of options of one density, shared out alike, on like packs and members, only the cheapest is taken, as bright as it
    can be.
    """
    cheapest: dict[tuple[object, ...], Option] = {}
    for option in sorted(options, key=lambda each: (each.figures.cost, -each.level)):
        cheapest.setdefault(option.decisions, option)
    left = list(cheapest.values())
    counts: tuple[Callable[[Option], float], ...] = (
        lambda o: o.figures.cost,
        lambda o: -o.figures.odds,
        lambda o: -o.figures.light,
        lambda o: o.figures.pitch,
        lambda o: o.figures.work,
        lambda o: -o.figures.light / o.figures.cost,
        lambda o: o.figures.mass,
        lambda o: -o.figures.run_time,
    )
    chosen: list[Option] = []
    for count in counts:
        best = min(left, key=lambda each: (count(each), each.figures.cost))
        if best not in chosen:
            chosen.append(best)
    chosen += [each for each in left if each not in chosen]
    return tuple(sorted(chosen[:N_SHOWN], key=lambda each: each.figures.cost))


def _finish(options: Sequence[Option], task: _Search, demands: Sequence[Demand]) -> tuple[list[Candidate], int]:
    """Return finished designs of some options, and how many were tried: more of them while none meets all demands."""
    left, signed, n_tried = list(options), list[Candidate](), 0
    for _ in range(N_ROUND):
        if not left:
            break
        finalists = choose_finalists(left)
        tried = {each.decisions for each in finalists}
        left = [each for each in left if each.decisions not in tried]
        results = _sign_off_all([work_on(each, task.begin) for each in finalists], task.progress)
        n_tried += len(finalists)
        signed += [each for each in results if each is not None]
        if any(_meets(each, demands) for each in signed):
            break
    return signed, n_tried


def _meets(candidate: Candidate, demands: Sequence[Demand]) -> bool:
    return all(demand.is_met(candidate) for demand in demands)


def _sign_off_all(works: Sequence[Work], progress: Progress) -> tuple[Candidate | None, ...]:
    progress.begin("candidates signed off", len(works))
    with Workers(min(os.cpu_count() or 1, len(works))) as workers:
        futures = [workers.submit(make_candidate, work) for work in works]
        waiting = set(futures)
        while waiting:
            waiting = wait(waiting, LOOK_EVERY, FIRST_COMPLETED).not_done
            progress.reach(len(works) - len(waiting))
        return tuple(future.result() for future in futures)


def _why_none(task: _Search) -> Unmet:
    """Return why no option meets the brief, and what would have to change."""
    space, name = task.space, task.probe.brief.name

    def prove(works: Sequence[tuple[Option, frozenset[str]]]) -> Sequence[Candidate | None]:
        return _sign_off_all([work_on(option, task.begin, codes) for option, codes in works], task.progress)

    if space.builds and not space.is_held:
        held = _calmer(task, lambda calmer: calmer.is_held)
        if held is None:
            return judge_unheld(name)
        others = [each for each in task.demands if each.key != "wind"]
        # what the strongest wind takes may be beyond another demand; then the wind in which all others are met counts
        best = (
            _calmer(task, lambda calmer: bool(search(calmer, others).options))
            if not search(held, others).options
            else held
        )
        space = best or held
    return judge_unmet(name, weigh_all(space, task.progress), task.demands, task.date, prove)


def _calmer(task: _Search, is_enough: Callable[[Space], bool]) -> Space | None:
    """Return the space of the strongest wind, below the brief's, that is enough; ``None``: not even still air is."""
    plain = plain_layout(task.setting, task.catalogue)

    def at(steps: int) -> Space:
        return in_wind(task.space, steps * WIND_STEP, task.setting, plain, task.progress)

    low, high = 0, int(task.probe.brief.wind / WIND_STEP) + 1
    found = at(low)
    if not is_enough(found):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        space = at(middle)
        low, high, found = (middle, high, space) if is_enough(space) else (low, middle, found)
    return found


def _without_beaten(candidates: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Return those that no other beats on every count, now that all figures are exact, cheapest first."""

    def counts(each: Candidate) -> tuple[float, ...]:
        order = -float(each.order_by.toordinal())
        return (
            each.cost,
            each.mass,
            each.work,
            each.set_up,
            order,
            -each.run_time,
            -each.odds,
            -each.seen.per_metre,
            each.seen.apart,
        )

    kept = []
    for index, each in enumerate(candidates):
        mine = counts(each)
        rivals = [(other, counts(rival)) for other, rival in enumerate(candidates) if other != index]
        if not any(
            all(a <= b for a, b in zip(theirs, mine, strict=True)) and (theirs != mine or other < index)
            for other, theirs in rivals
        ):
            kept.append(each)
    return tuple(sorted(kept, key=lambda each: each.cost))
