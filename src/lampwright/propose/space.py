"""Everything there is to choose from for a brief: what lights it, and what holds that up in a wind."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import product

from lampwright.layout import Layout
from lampwright.parts import Board, Catalogue, Pack, Supply
from lampwright.piece.model import Brief, Piece
from lampwright.power.supply_check import bears_splashes
from lampwright.propose.build import Build, Setting, lay_plain, make_build, with_strip
from lampwright.propose.grouping import groupings, whole_members
from lampwright.propose.holding import Rigs, find_rigs
from lampwright.propose.rig_price import RigPrices
from lampwright.propose.weigh import can_drive
from lampwright.signoff import Progress

LEVELS = (1, 2, 3, 4, 5, 7, 10, 12, 15, 18, 21, 25, 30, 35, 40, 50, 60, 70, 80, 100)
"""Brightness in percent of full drive that is weighed (our choice)."""


@dataclass(frozen=True)
class Space:
    """Everything there is to choose from."""

    builds: Sequence[Build]
    rigs: Mapping[tuple[object, ...], Rigs]
    """What holds a build, by what it bears."""
    boards: Sequence[Board]
    packs: Sequence[Pack | Supply]
    """Or supplies from the mains, where the wish is for them."""
    counts: Sequence[int] = (1, 2)
    levels: Sequence[int] = LEVELS

    @property
    def n_option(self) -> int:
        """How many options there are."""
        sizes = (self.boards, self.packs, self.counts, self.levels)
        return math.prod(len(each) for each in sizes) * sum(self.rigs[each.bears].n_option for each in self.builds)

    @property
    def is_complete(self) -> bool:
        """Whether every rig was looked at."""
        return all(each.is_complete for each in self.rigs.values())

    @property
    def is_held(self) -> bool:
        """Whether anything holds some build."""
        return any(self.rigs[each.bears].options for each in self.builds)


def make_space(setting: Setting, progress: Progress, catalogue: Catalogue) -> tuple[Space, Piece]:
    """Return everything there is to choose from for a brief, and a piece of its members.

    Strip that no board can drive, however it is shared out, is left out of it.
    """
    strips = sorted(catalogue.strips.values(), key=lambda each: each.density.value)
    progress.begin("strip shared out among circuits", 1)
    probe = plain_layout(setting, catalogue).piece
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
    rigs = rigs_in(probe.brief.wind, setting, builds, plain_layout(setting, catalogue), progress)
    if setting.asked.is_on_mains:
        return Space(builds, rigs, boards, supplies_for(probe.brief, catalogue), counts=(1,)), probe
    return Space(builds, rigs, boards, tuple(catalogue.packs.values())), probe


def supplies_for(brief: Brief, catalogue: Catalogue) -> tuple[Supply, ...]:
    """Return the supplies that may stand where the piece stands, by their IP code and in its cold."""
    return tuple(
        each
        for each in catalogue.supplies.values()
        if brief.is_outdoors is False or bears_splashes(each)
        if each.works_from.value <= brief.coldest
    )


def plain_layout(setting: Setting, catalogue: Catalogue) -> Layout:
    """Return the brief's members with the sparsest strip on them, one circuit each."""
    strip = min(catalogue.strips.values(), key=lambda each: each.density.value)
    return lay_plain(setting, strip, whole_members(setting.asked, 2))


def in_wind(space: Space, wind: float, setting: Setting, plain: Layout, progress: Progress) -> Space:
    """Return a space with what holds it in another wind. [m/s]"""
    return dataclasses.replace(space, rigs=rigs_in(wind, setting, space.builds, plain, progress))


def rigs_in(
    wind: float, setting: Setting, builds: Sequence[Build], plain: Layout, progress: Progress
) -> Mapping[tuple[object, ...], Rigs]:
    """Return what holds each build in a wind [m/s], those once that bear the same."""
    prices = RigPrices(plain, setting.shelf, setting.shop)
    kinds = {each.bears: each for each in builds}
    progress.begin("what holds it up", len(kinds))
    found: dict[tuple[object, ...], Rigs] = {}
    for bears, build in kinds.items():
        lay = partial(lay_plain, setting, build.strip, build.grouping)
        found[bears] = find_rigs(setting.asked.wish, setting.asked.members, lay, prices, wind)
        progress.reach(len(found))
    return found
