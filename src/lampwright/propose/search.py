"""Go through every option, leave out what bounds show to be hopeless, and keep what no other beats on every count."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from lampwright.parts import Board, Pack
from lampwright.piece.model import Brief
from lampwright.propose.build import Build
from lampwright.propose.weigh import Figures, Option, cost_of, fits, weigh
from lampwright.propose.wish import WishEntry
from lampwright.signoff import Progress, Silent
from lampwright.units import format_quantity

LEVELS = (1, 2, 3, 4, 5, 7, 10, 12, 15, 18, 21, 25, 30, 35, 40, 50, 60, 70, 80, 100)
"""Brightness in percent of full drive that is weighed (our choice)."""

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


@dataclass(frozen=True)
class Demand:
    """Something that the brief asks for: a figure and its limit."""

    key: str
    """As the brief calls it."""
    figure: str
    limit: float
    is_most: bool
    """Whether the limit is the most allowed, not the least."""
    tell: Callable[[float], str]
    path: tuple[str, ...] = ()
    """Where its value stands in the brief file."""
    write: Callable[[float], str] = str
    """What stands there when its limit is eased to a figure, rounded so that the figure meets it."""

    def is_met(self, figures: Figures) -> bool:
        """Return whether these figures meet it."""
        value = getattr(figures, self.figure)
        return bool(value <= self.limit + 1e-9 if self.is_most else value >= self.limit - 1e-9)


@dataclass(frozen=True)
class Space:
    """Everything there is to choose from."""

    builds: Sequence[Build]
    boards: Sequence[Board]
    packs: Sequence[Pack]
    counts: Sequence[int] = (1, 2)
    levels: Sequence[int] = LEVELS

    @property
    def n_option(self) -> int:
        """How many options there are."""
        sizes = (self.builds, self.boards, self.packs, self.counts, self.levels)
        return int(np.prod([len(each) for each in sizes]))


@dataclass(frozen=True)
class Found:
    """What the search found."""

    options: tuple[Option, ...]
    """Those that meet every demand and that no other beats on every count, the cheapest first."""
    n_option: int
    n_weighed: int
    """How many had to be weighed; all others are shown to be hopeless by a bound."""


def demands_of(wish: WishEntry, brief: Brief) -> tuple[Demand, ...]:
    """Return what a brief asks for."""
    found = [
        Demand("run_time", "run_time", brief.run_time, False, _tell_time, ("brief", "run_time"), _write_time),
        Demand(
            "survive",
            "kept",
            brief.survive.lit,
            False,
            lambda value: f"{100 * value:.0f} % of circuits lit",
            ("brief", "survive", "lit"),
            _write_share,
        ),
        Demand(
            "brightness",
            "level",
            wish.brightness,
            False,
            lambda value: f"{100 * value:.0f} %",
            ("wish", "brightness"),
            _write_share,
        ),
        Demand("odds", "odds", wish.odds, False, lambda value: f"{100 * value:.2f} %", ("wish", "odds"), _write_share),
        Demand(
            "packs",
            "packs",
            wish.packs,
            True,
            lambda value: f"{value:.0f} for each circuit",
            ("wish", "packs"),
            lambda value: f"{value:.0f}",
        ),
    ]
    if brief.budget is not None:
        found.append(
            Demand("budget", "cost", brief.budget, True, lambda value: f"{value:.2f}", ("brief", "budget"), _write_cost)
        )
    if wish.pitch is not None:
        found.append(Demand("pitch", "pitch", wish.pitch, True, _tell_length, ("wish", "pitch"), _write_length))
    return tuple(found)


def _tell_time(value: float) -> str:
    return format_quantity(value, "time", 3)


def _tell_length(value: float) -> str:
    return format_quantity(value, "length", 3)


def _write_time(value: float) -> str:
    return format_quantity(max(60.0, value // 60 * 60), "time")


def _write_share(value: float) -> str:
    return f"{math.floor(1e4 * value + 1e-6) / 100:g} %"


def _write_cost(value: float) -> str:
    return f"{math.ceil(100 * value - 1e-6) / 100:g}"


def _write_length(value: float) -> str:
    return f"{math.ceil(1e4 * value - 1e-6) / 10:g} mm"


def search(space: Space, demands: Sequence[Demand], progress: Progress | None = None) -> Found:
    """Return the best options that meet all demands; ``progress`` may end the search by an error of its own.

    Bounds: a build, a board or a pack whose cost alone is above the budget; a build that can't meet a demand which
    follows from it alone; and, since more brightness never draws less, all levels above the first that a pack can't
    carry or that ends too early.
    """
    met: list[Option] = []
    n_weighed = 0
    by_figure = {demand.figure: demand for demand in demands}
    progress = progress or Silent()
    progress.begin("options weighed", len(space.builds))
    for done, build in enumerate(space.builds):
        progress.reach(done)
        if not _may_serve(build, by_figure):
            continue
        for board in (each for each in space.boards if fits(build, each)):
            for pack in space.packs:
                for count in space.counts:
                    if "packs" in by_figure and count > by_figure["packs"].limit:
                        continue
                    if "cost" in by_figure and cost_of(build, board, pack, count) > by_figure["cost"].limit + 1e-9:
                        continue
                    for level in sorted(space.levels):
                        if "level" in by_figure and level / 100 < by_figure["level"].limit - 1e-9:
                            continue
                        n_weighed += 1
                        option = weigh(build, board, pack, count, level)
                        if option is None:
                            break
                        if "run_time" in by_figure and not by_figure["run_time"].is_met(option.figures):
                            break
                        if all(demand.is_met(option.figures) for demand in demands):
                            met.append(option)
    progress.reach(len(space.builds))
    return Found(unbeaten(met), space.n_option, n_weighed)


def _may_serve(build: Build, by_figure: dict[str, Demand]) -> bool:
    """Return whether nothing that follows from a build alone breaks a demand."""
    if "cost" in by_figure and build.price / 100 > by_figure["cost"].limit:
        return False
    if "kept" in by_figure and build.kept < by_figure["kept"].limit - 1e-9:
        return False
    return not ("pitch" in by_figure and 1 / build.strip.density.value > by_figure["pitch"].limit + 1e-9)


def weigh_all(space: Space, progress: Progress | None = None) -> list[Option]:
    """Return every option that can be built, whatever is demanded; ``progress`` as in :func:`search`."""
    progress = progress or Silent()
    progress.begin("what is in the way", len(space.builds))
    options = []
    for done, build in enumerate(space.builds):
        progress.reach(done)
        options += [
            weigh(build, board, pack, count, level)
            for board in space.boards
            if fits(build, board)
            for pack in space.packs
            for count in space.counts
            for level in space.levels
        ]
    return [option for option in options if option is not None]


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
