"""How many pixels of one circuit stay lit, exactly: a distribution, from the chance of each fault.

Nothing is sampled and no set of faults is listed. Power grows outward from the hub, link by link (factoring, as
reliability texts call it), and states that reach the same segments are added up; along a run the first cut decides.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.faults.anatomy import HUB, Anatomy, Link, place_before, place_within
from lampwright.faults.every import spans
from lampwright.faults.kinds import FaultKind, Place, Spot, at_place
from lampwright.faults.showing import far_half

Chances = Mapping[Spot, float]
"""For each kind, or kind at a place, the chance that a unit (a pack, a link, a pixel, ...) fails in the evening."""

Distribution = NDArray[np.float64]
"""(n + 1,): the chance that 0, 1, ... n are lit."""

Power = dict[frozenset[int], float]
"""The chance of each set of nodes that has power."""


@dataclass(frozen=True)
class _Cause:
    """Something that takes segments off together: a span torn off, a member down."""

    segments: frozenset[int]
    chance: float


def lit_pixels(
    anatomy: Anatomy,
    chances: Chances,
    whole: float,
    torn: frozenset[int] = frozenset(),
    own: frozenset[str] = frozenset(),
) -> Distribution:
    """Return the distribution of a circuit's lit pixels.

    Parameters
    ----------
    chances
        Of links, data lines, joints, spans, pixels and members.
    whole
        Chance that the circuit as a whole has power and a working board.
    torn
        Segments that are known to be off, because a member is down.
    own
        Members that no other circuit hangs on: whether they are down is counted here.
    """
    groups = _groups(anatomy)
    if anatomy.home in own:
        whole *= 1.0 - chances[FaultKind.POST_DOWN]
    needs = [_members_of(anatomy, nodes) & own - {anatomy.home} for _, nodes in groups]
    # what hangs in one group is counted there; what hangs in several is held fixed from the first of them to the last
    several = {name for names in needs for name in names if sum(name in other for other in needs) > 1}
    states: dict[frozenset[str], Distribution] = {frozenset(): np.array([1.0])}
    opened: set[str] = set()
    for number, (runs, nodes) in enumerate(groups):
        fresh = sorted(needs[number] & several - opened)
        opened.update(fresh)
        states = spread_states(states, fresh, chances[FaultKind.POST_DOWN])
        alone = needs[number] - several
        still = frozenset(name for names in needs[number + 1 :] for name in names)
        following: dict[frozenset[str], Distribution] = {}
        for down, share in states.items():
            off = torn | segments_on(anatomy, down)
            counted = np.convolve(share, _group_lit(anatomy, chances, runs, nodes, off, alone))
            kept = down & still
            following[kept] = following.get(kept, 0.0) + counted
        states = following
    lit = whole * np.asarray(sum(states.values()))
    lit[0] += 1.0 - whole
    return lit


def spread_states(
    states: Mapping[frozenset[str], Distribution], members: Sequence[str], p_down: float
) -> dict[frozenset[str], Distribution]:
    """Return states with each of these members up or down besides."""
    spread = dict(states)
    for name in members:
        spread = {
            state: share * factor
            for down, share in spread.items()
            for state, factor in ((down, 1.0 - p_down), (down | {name}, p_down))
        }
    return spread


def segments_on(anatomy: Anatomy, members: frozenset[str]) -> frozenset[int]:
    """Return the segments that hang on any of these members."""
    return frozenset(i for i, each in enumerate(anatomy.segments) if members & set(each.members))


def _members_of(anatomy: Anatomy, nodes: frozenset[int]) -> frozenset[str]:
    return frozenset(name for node in nodes for name in anatomy.segments[node - 1].members)


def _groups(anatomy: Anatomy) -> list[tuple[list[int], frozenset[int]]]:
    """Return runs that share copper beyond the hub, with their nodes; groups are independent of each other."""
    run_of = {index + 1: number for number, run in enumerate(anatomy.runs) for index in run}
    group = list(range(len(anatomy.runs)))
    for link in anatomy.links:
        if HUB not in (link.start, link.end):
            one, other = group[run_of[link.start]], group[run_of[link.end]]
            group = [one if each == other else each for each in group]
    found = []
    for leader in sorted(set(group)):
        runs = [number for number, each in enumerate(group) if each == leader]
        found.append((runs, frozenset(index + 1 for number in runs for index in anatomy.runs[number])))
    return found


def _group_lit(
    anatomy: Anatomy,
    chances: Chances,
    runs: list[int],
    nodes: frozenset[int],
    torn: frozenset[int],
    own: frozenset[str],
) -> Distribution:
    powers = power_of(anatomy, chances, nodes, torn, own)
    total = np.zeros(sum(anatomy.segments[i].n_pixel for run in runs for i in anatomy.runs[run]) + 1)
    of_run: dict[tuple[int, frozenset[int]], Distribution] = {}
    for reached, chance in powers.items():
        lit = np.array([1.0])
        for run in runs:
            key = (run, reached & {index + 1 for index in anatomy.runs[run]})
            if key not in of_run:
                of_run[key] = _run_lit(anatomy, chances, *key)
            lit = np.convolve(lit, of_run[key])
        total += chance * lit
    return total


_Growth = tuple[frozenset[int], frozenset[int], frozenset[int], frozenset[int]]
"""Nodes that have power, links that are open, segments that are off, causes that are known not to have happened."""


def power_of(
    anatomy: Anatomy,
    chances: Chances,
    nodes: frozenset[int],
    torn: frozenset[int],
    own: frozenset[str] = frozenset(),
) -> Power:
    """Return the chance of each set of a group's nodes to be the one that has power, the hub included.

    Whether a span is torn off or one of the ``own`` members is down is asked when growth first comes to it, and
    forgotten when nothing that it could take off is left.
    """
    causes = _causes(anatomy, chances, nodes, own)
    links = [
        (number, link, _open_chance(anatomy, link, chances))
        for number, link in enumerate(anatomy.links)
        if link.start != link.end and (link.start in nodes or link.end in nodes)
    ]
    states: dict[_Growth, float] = {(frozenset({HUB}), frozenset(), torn, frozenset()): 1.0}
    done: Power = {}
    while states:
        following: dict[_Growth, float] = {}
        for (reached, opened, off, spared), chance in states.items():
            border = next(
                (
                    (number, there, p)
                    for number, link, p in links
                    if number not in opened and (there := _beyond(link.start, link.end, reached)) - 1 >= 0
                    if there - 1 not in off
                ),
                None,
            )
            if border is None:
                done[reached] = done.get(reached, 0.0) + chance
                continue
            number, there, p = border
            asked = next((i for i, cause in enumerate(causes) if i not in spared and there - 1 in cause.segments), None)
            if asked is not None:
                gone = off | causes[asked].segments
                p = causes[asked].chance
                branches: list[tuple[_Growth, float]] = [
                    ((reached, opened, gone, _still_open(causes, spared, reached, gone)), p),
                    ((reached, opened, off, spared | {asked}), 1 - p),
                ]
            else:
                grown = reached | {there}
                # what joins two reached nodes no longer matters: forgotten, so that states meet
                left = frozenset(n for n, link, _ in links if n in opened and not {link.start, link.end} <= grown)
                known = _still_open(causes, spared, grown, off)
                branches = [((reached, opened | {number}, off, spared), p), ((grown, left, off, known), 1 - p)]
            for state, share in branches:
                if share > 0.0:
                    following[state] = following.get(state, 0.0) + chance * share
        states = following
    return done


def _open_chance(anatomy: Anatomy, link: Link, chances: Chances) -> float:
    """Return the chance that a link is open, or its fuse blown."""
    if link.is_feed:
        p = chances[FaultKind.FEED_OPEN]
    else:
        p = at_place(chances, FaultKind.RAIL_OPEN, place_before(anatomy, link.end - 1))
    return 1.0 - (1.0 - p) * (1.0 - chances[FaultKind.FUSE_BLOWN]) if link.is_fused else p


def _causes(anatomy: Anatomy, chances: Chances, nodes: frozenset[int], own: frozenset[str]) -> list[_Cause]:
    """Return what can take segments of a group off."""
    here = frozenset(node - 1 for node in nodes)
    torn = [_Cause(each, chances[FaultKind.SPAN_TORN]) for each in spans(anatomy).values() if each <= here]
    down = [_Cause(segments_on(anatomy, frozenset({name})), chances[FaultKind.POST_DOWN]) for name in sorted(own)]
    return torn + down


def _still_open(
    causes: Sequence[_Cause], spared: frozenset[int], reached: frozenset[int], off: frozenset[int]
) -> frozenset[int]:
    """Return the spared causes that still matter: those with a segment that is neither reached nor off."""
    return frozenset(i for i in spared if any(s + 1 not in reached and s not in off for s in causes[i].segments))


def _beyond(start: int, end: int, reached: frozenset[int]) -> int:
    """Return the end of a link that isn't reached yet while its other end is, or -1."""
    if (start in reached) == (end in reached):
        return -1
    return end if start in reached else start


def _run_lit(anatomy: Anatomy, chances: Chances, run: int, powered: frozenset[int]) -> Distribution:
    """Return how many pixels of a run are lit when these nodes of it have power."""
    dead: list[float] = []
    cut: list[float] = []
    for position, index in enumerate(anatomy.runs[run]):
        size, place = anatomy.segments[index].n_pixel, place_before(anatomy, index)
        dies = at_place(chances, FaultKind.PIXEL_DEAD, place_within(anatomy.segments[index]))
        dead += [dies if index + 1 in powered else 1.0] * size
        wet = at_place(chances, FaultKind.WET_JOINT, place) if position else 0.0
        opens = at_place(chances, FaultKind.DATA_OPEN, place)
        cut += [1.0 - (1.0 - opens) * (1.0 - wet)] + [0.0] * (size - 1)
    if not anatomy.has_far_data:
        return chain_lit(np.array(dead), np.array(cut), anatomy.has_backup)
    middle = len(dead) - far_half(len(dead))
    back = [
        *cut[middle + 1 :],
        at_place(chances, FaultKind.DATA_OPEN, Place.HEAD),
    ]  # on the way back, the gap before a pixel is the one after it
    near = chain_lit(np.array(dead[:middle]), np.array(cut[:middle]), anatomy.has_backup)
    far = chain_lit(np.array(dead[middle:][::-1]), np.array(back[::-1]), anatomy.has_backup)
    return np.convolve(near, far)


def chain_lit(dead: NDArray[np.float64], cut: NDArray[np.float64], has_backup: bool) -> Distribution:
    """Return how many pixels of a data chain are lit.

    Parameters
    ----------
    dead : (n,) float64
        Chance that each pixel is dead.
    cut : (n,) float64
        Chance that the data line before each pixel is open or wet.
    has_backup
        Whether a second data line bridges one dead pixel, though not two in a row.
    """
    n = len(dead)
    if not has_backup:
        at_least = np.concatenate([[1.0], np.cumprod((1.0 - dead) * (1.0 - cut)), [0.0]])
        return np.asarray(at_least[:-1] - at_least[1:], dtype=np.float64)
    ended, after_live, after_dead = np.zeros(n + 1), np.zeros(n + 1), np.zeros(n + 1)
    after_live[0] = 1.0
    surely = np.flatnonzero((dead[1:] >= 1.0) & (dead[:-1] >= 1.0))
    end = int(surely[0]) + 2 if len(surely) else n  # two in a row that surely have no power end it
    for p_dead, p_cut in zip(dead[:end], cut[:end], strict=True):
        both = after_live + after_dead
        ended += p_cut * both + (1.0 - p_cut) * p_dead * after_dead
        dies = (1.0 - p_cut) * p_dead * after_live
        after_live = np.concatenate([[0.0], ((1.0 - p_cut) * (1.0 - p_dead) * both)[:-1]])
        after_dead = dies
    return np.asarray(ended + after_live + after_dead, dtype=np.float64)
