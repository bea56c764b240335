"""From a brief to its candidates: builds made, options searched, finalists signed off side by side."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, wait
from dataclasses import dataclass
from itertools import product

from lampwright.findings.model import Finding
from lampwright.parts import Catalogue, catalogue_currency, load_catalogue
from lampwright.piece.model import Piece
from lampwright.propose.build import Build, Setting, lay_plain, make_build, with_strip
from lampwright.propose.finalist import Candidate, make_candidate, work_on
from lampwright.propose.grouping import groupings, whole_members
from lampwright.propose.search import Found, Space, demands_of, search, weigh_all
from lampwright.propose.unmet import Edit, judge_unmet, ways_out
from lampwright.propose.weigh import Option, can_drive
from lampwright.signoff import Progress
from lampwright.workers import Workers

N_SHOWN = 6
"""Candidates that are signed off and shown (our choice)."""

LOOK_EVERY = 0.2
"""Between two looks at whether the sign-offs are still wanted. [s]"""


@dataclass(frozen=True)
class Proposal:
    """The answer to a brief."""

    name: str
    candidates: tuple[Candidate, ...]
    """Signed off, the cheapest first."""
    found: Found
    currency: str
    n_failed: int
    """Finalists that no brightness carried through their sign-off."""
    unmet: Finding | None
    """Why there is none."""
    ways_out: tuple[tuple[Edit, ...], ...] = ()
    """Edits of the brief after each of which there would be some, the smallest change first."""

    @property
    def n_hardware(self) -> int:
        """How many unbeaten options there are that differ in more than brightness."""
        return len({option.decisions for option in self.found.options})


def propose(setting: Setting, progress: Progress, today: datetime.date, catalogue: Catalogue | None = None) -> Proposal:
    """Return candidates for a brief, or why there are none.

    An error that ``progress`` raises ends the search, its workers too.

    Raises
    ------
    MakerError
        What is wrong with the brief.
    """
    catalogue = catalogue or load_catalogue()
    space, probe = make_space(setting, progress, catalogue)
    demands = demands_of(setting.asked.wish, probe.brief)
    name, currency = probe.brief.name, probe.brief.currency or catalogue_currency()
    found = search(space, demands, progress)
    if not found.options:
        options = weigh_all(space, progress)
        unmet = judge_unmet(name, options, demands)
        return Proposal(name, (), found, currency, 0, unmet, ways_out(options, demands))
    begin = probe.work.begin or today
    finalists = choose_finalists(found.options)
    candidates = _sign_off_all(finalists, begin, progress)
    passed = _without_beaten([each for each in candidates if each is not None])
    return Proposal(name, passed, found, currency, sum(each is None for each in candidates), None)


def make_space(setting: Setting, progress: Progress, catalogue: Catalogue) -> tuple[Space, Piece]:
    """Return everything there is to choose from for a brief, and a piece of its members.

    Strip that no board can drive, however it is shared out, is left out of it.
    """
    strips = sorted(catalogue.strips.values(), key=lambda each: each.density.value)
    progress.begin("strip shared out among circuits", 1)
    probe = lay_plain(setting, strips[0], whole_members(setting.asked, 2)).piece
    ways = groupings(setting.asked, probe)
    progress.begin("strip shared out among circuits", len(ways) * len(strips))
    boards = tuple(catalogue.boards.values())
    builds: list[Build] = []
    for done, (way, strip) in enumerate(product(ways, strips), 1):
        layout = lay_plain(setting, strip, way)
        if any(can_drive(board, layout, strip, way) for board in boards):
            alike = (each for each in builds if each.grouping is way and each.strip.density == strip.density)
            known = next(alike, None)
            build = make_build(setting, strip, way, layout) if known is None else with_strip(known, strip)
            builds.append(build)
        progress.reach(done)
    return Space(builds, boards, tuple(catalogue.packs.values())), probe


def choose_finalists(options: Sequence[Option]) -> tuple[Option, ...]:
    """Return options that differ in the decisions that matter: the best by each count, then the cheapest.

    Of options of one density, shared out alike, on like packs, only the cheapest is taken, as bright as it can be.
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


def _sign_off_all(
    finalists: Sequence[Option], begin: datetime.date, progress: Progress
) -> tuple[Candidate | None, ...]:
    works = [work_on(option, begin) for option in finalists]
    progress.begin("candidates signed off", len(works))
    with Workers(min(os.cpu_count() or 1, len(works))) as workers:
        futures = [workers.submit(make_candidate, work) for work in works]
        waiting = set(futures)
        while waiting:
            waiting = wait(waiting, LOOK_EVERY, FIRST_COMPLETED).not_done
            progress.reach(len(works) - len(waiting))
        return tuple(future.result() for future in futures)


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
