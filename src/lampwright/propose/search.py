"""Go through every option, leave out what bounds show to be hopeless, and keep what no other beats on every count."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from lampwright.propose.build import Build
from lampwright.propose.demands import EASED, Demand
from lampwright.propose.holding import RigOption
from lampwright.propose.space import Space
from lampwright.propose.weigh import Option, cost_of, fits, joined, weigh
from lampwright.signoff import Progress, Silent

COUNTS: tuple[tuple[str, int], ...] = (
    ("cost", 1),
    ("mass", 1),
    ("work", 1),
    ("set_up", 1),
    ("run_time", -1),
    ("odds", -1),
    ("light", -1),
    ("pitch", 1),
)
"""What options are held against each other by; 1: less is better."""


OF_BOTH = ("cost", "mass", "work", "set_up", "wind", "clean")
"""Figures to which what holds a piece adds its share, so that they are judged once both halves are joined."""


@dataclass(frozen=True)
class Found:
    """What the search found."""

    options: tuple[Option, ...]
    """Those that meet every demand and that no other beats on every count, the cheapest first."""
    n_option: int
    n_weighed: int
    """How many had to be weighed; all others are shown to be hopeless by a bound."""
    is_complete: bool = True
    """Whether nothing else was left out."""


def search(space: Space, demands: Sequence[Demand], progress: Progress | None = None) -> Found:
    """Return the best options that meet all demands; ``progress`` may end the search by an error of its own.

    Bounds: a build, a board or a pack whose cost alone is above the budget; a build that can't meet a demand which
    follows from it alone; and, since more brightness never draws less, all levels above the first that a pack can't
    carry or that ends too early.

    What lights a piece and what holds it up are searched apart and joined at the end. That is exact: whatever both
    share adds up, and every demand is a limit of one figure, so that what is beaten in its own half is beaten whatever
    it is joined with.
    """
    weighed = sum(each.n_weighed for each in space.rigs.values())
    halves: dict[tuple[object, ...], tuple[Sequence[RigOption], list[Option]]] = {}
    progress = progress or Silent()
    progress.begin("options weighed", len(space.builds))
    for done, build in enumerate(space.builds):
        progress.reach(done)
        rigs = [each for each in space.rigs[build.bears].options if all(_may_hold(each, d) for d in demands)]
        if rigs:
            met = halves.setdefault(build.bears, (rigs, []))[1]
            weighed += _light(space, build, demands, min(each.cost for each in rigs) / 100, met)
    progress.reach(len(space.builds))
    whole = [joined(option, rig) for rigs, met in halves.values() for option in unbeaten(met) for rig in rigs]
    whole = [option for option in whole if all(demand.is_met(option.figures) for demand in demands)]
    return Found(unbeaten(whole), space.n_option, weighed, space.is_complete)


def _light(space: Space, build: Build, demands: Sequence[Demand], held_for: float, met: list[Option]) -> int:
    """Add to ``met`` what lights a build and meets all demands on that; return how many options were weighed.

    ``held_for`` is the least that what holds it costs.
    """
    limits = {demand.figure: demand.limit for demand in demands}
    own = [demand for demand in demands if demand.figure not in OF_BOTH]
    times = [demand for demand in own if demand.figure in ("run_time", "worn_time")]
    most = limits.get("cost", math.inf) - held_for + EASED
    if build.price / 100 > most or not _may_serve(build, limits):
        return 0
    n_weighed = 0
    boards = [board for board in space.boards if fits(build, board)]
    counts = [count for count in space.counts if count <= limits.get("packs", math.inf)]
    levels = [level for level in sorted(space.levels) if level / 100 >= limits.get("level", 0.0) - EASED]
    for board, pack, count in product(boards, space.packs, counts):
        if cost_of(build, board, pack, count) > most:
            continue
        for level in levels:
            n_weighed += 1
            option = weigh(build, board, pack, count, level)
            if option is None or not all(each.is_met(option.figures) for each in times):
                break
            if all(demand.is_met(option.figures) for demand in own):
                met.append(option)
    return n_weighed


def _may_hold(rig: RigOption, demand: Demand) -> bool:
    """Return whether a rig alone breaks no demand."""
    if demand.figure == "wind":
        return rig.wind >= demand.limit - EASED
    return demand.figure != "clean" or rig.is_clean or demand.limit < 1


def _may_serve(build: Build, limits: Mapping[str, float]) -> bool:
    """Return whether nothing but its cost that follows from a build alone breaks a demand."""
    if build.kept < limits.get("kept", 0.0) - EASED:
        return False
    return 1 / build.strip.density.value <= limits.get("pitch", math.inf) + EASED


def weigh_all(space: Space, progress: Progress | None = None) -> list[Option]:
    """Return every option that can be built, whatever is demanded; ``progress`` as in :func:`search`."""
    progress = progress or Silent()
    progress.begin("what is in the way", len(space.builds))
    found: list[Option] = []
    for done, build in enumerate(space.builds):
        progress.reach(done)
        boards = [board for board in space.boards if fits(build, board)]
        lit = [weigh(build, *each) for each in product(boards, space.packs, space.counts, space.levels)]
        rigs = space.rigs[build.bears].options
        found += [joined(option, rig) for option in lit if option is not None for rig in rigs]
    return found


def unbeaten(options: Sequence[Option]) -> tuple[Option, ...]:
    """Return those that no other one beats or equals on every count, cheapest first; of equals the first."""
    if not options:
        return ()
    table = np.array([[sign * getattr(o.figures, name) for name, sign in COUNTS] for o in options], dtype=np.float64)
    order = np.lexsort(table.T[::-1])
    kept: list[int] = []
    for index in order:
        if not kept or not bool(np.any(np.all(table[kept] <= table[index] + 1e-12, axis=1))):
            kept.append(int(index))
    return tuple(options[index] for index in kept)
