"""What faults cost the show: alone and in pairs, worst first, and whether the brief's demand holds.

Two shares are told apart. The share of *pixels* counts each pixel that shows the show. The share of *circuits*, which
the brief's ``lit`` is about, counts a circuit as lit while at least half of its pixels show the show (our choice).
Frozen and wrong pixels don't count as lit, since a frozen one is dark after the next switching on.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.faults.every import Body, PieceFault, join_damages, show_damage
from lampwright.faults.showing import Damage, Mask

LIT_FROM = 0.5
"""Share of its pixels from which a circuit counts as lit (our choice). [1]"""

PASSING = 10.0
"""A fault that mends itself within this time breaks no demand (our choice). [s]"""


@dataclass(frozen=True, eq=False)
class Outage:
    """Faults, one or two, that lose the same pixels."""

    names: tuple[str, ...]
    """The faults that do this, each alone or each pair together."""
    damages: Mapping[int, Damage]
    lost: Mask  # (n_pixel,) of the piece
    lasts: float  # the longest of these [s]
    pixels_lit: float  # share of the piece's pixels [1]
    circuits_lit: float  # share of its circuits [1]
    cost: float  # share of pixels lost x how long within the run time [s]


def lit_circuits(body: Body, lost: Mask) -> NDArray[np.bool_]:
    """Return which circuits count as lit, (n_circuit,)."""
    edges = np.array(body.offsets)
    counts: NDArray[np.int64] = np.add.reduceat(lost, edges[:-1], dtype=np.int64)
    return 1.0 - counts / np.diff(edges) >= LIT_FROM


def single_outages(body: Body, faults: Sequence[PieceFault]) -> list[Outage]:
    """Return what each fault costs, faults with the same effect together, worst first."""
    alike: dict[bytes, tuple[Mask, list[PieceFault]]] = {}
    for fault in faults:
        lost = show_damage(body, fault.damages).lost
        passes = b"passes" if fault.lasts <= PASSING else b""
        alike.setdefault(lost.tobytes() + passes, (lost, []))[1].append(fault)
    found = [
        _outage(
            body,
            tuple(fault.name for fault in same),
            max(same, key=lambda fault: fault.lasts).damages,
            lost,
            max(fault.lasts for fault in same),
        )
        for lost, same in alike.values()
    ]
    return sorted(found, key=lambda outage: -outage.cost)


def worst_pairs(body: Body, singles: Sequence[Outage], joint: Sequence[Outage], count: int) -> list[Outage]:
    """Return the pairs that cost most, worst first, of all pairs there are.

    A pair loses what its two faults lose, or is among ``joint``, which lose more. The cost of two is bounded by the
    sum of their costs, so sorted singles let the search end as soon as no sum can reach the worst that were found.
    """
    lasting = [each for each in singles if each.lasts > PASSING and each.cost > 0]
    best: list[tuple[float, int, Outage]] = []
    tried = 0

    def offer(pair: Outage) -> None:
        nonlocal tried
        tried += 1
        heapq.heappush(best, (pair.cost, -tried, pair))
        if len(best) > count:
            heapq.heappop(best)

    for pair in joint:
        offer(pair)
    for i, one in enumerate(lasting):
        if len(best) == count and 2 * one.cost <= best[0][0]:
            break
        for other in lasting[i + 1 :]:
            if len(best) == count and one.cost + other.cost <= best[0][0]:
                break
            offer(_pair(body, one, other, one.lost | other.lost))
    return [each for _, _, each in sorted(best, key=lambda entry: (-entry[0], -entry[1]))]


def joint_outages(body: Body, faults: Sequence[PieceFault]) -> list[Outage]:
    """Return the pairs that lose more than their two faults lose apart.

    That happens where copper closes a loop, to packs that feed one circuit, and to neighbours among pixels with a
    second data line.
    """
    lasting = [fault for fault in faults if fault.lasts > PASSING]
    found = []
    for i, j in _meeting(body, lasting):
        one, other = (single_outages(body, [lasting[k]])[0] for k in (i, j))
        lost = show_damage(body, join_damages(one.damages, other.damages)).lost
        if (lost & ~(one.lost | other.lost)).any():
            found.append(_pair(body, one, other, lost))
    return found


def shared_outages(body: Body, singles: Sequence[Outage], most: int = 3) -> list[Outage]:
    """Return sets of faults that each take parts of several circuits, and together put out one more than apart.

    Faults of one circuit alone needn't be looked at: an empty pack puts the same circuit out by itself.
    """
    wide = [each for each in singles if len(each.damages) > 1 and each.lasts > PASSING]
    found = {}
    for number in range(len(body.anatomies)):
        hitting = [i for i, each in enumerate(wide) if number in each.damages and _is_lit(body, each, number)]
        for size in range(2, most + 1):
            for chosen in itertools.combinations(hitting, size):
                lost = np.logical_or.reduce([wide[i].lost for i in chosen])
                apart = np.logical_and.reduce([lit_circuits(body, wide[i].lost) for i in chosen])
                if (apart & ~lit_circuits(body, lost)).any():
                    damages: Mapping[int, Damage] = {}
                    for i in chosen:
                        damages = join_damages(damages, wide[i].damages)
                    names = ("; ".join(wide[i].names[0] for i in chosen),)
                    found[chosen] = _outage(body, names, damages, lost, math.inf)
    return list(found.values())


def _is_lit(body: Body, outage: Outage, number: int) -> bool:
    return bool(lit_circuits(body, outage.lost)[number])


def _meeting(body: Body, faults: Sequence[PieceFault]) -> list[tuple[int, int]]:
    """Return the pairs that may do more together: open copper of one circuit, packs of one, neighbouring pixels."""
    copper: dict[int, list[int]] = {}
    packs: dict[int, list[int]] = {}
    pixels: dict[tuple[int, int], int] = {}
    for index, fault in enumerate(faults):
        for number, damage in fault.damages.items():
            if damage.links or damage.torn:
                copper.setdefault(number, []).append(index)
            if damage.packs:
                packs.setdefault(number, []).append(index)
            if body.anatomies[number].has_backup:
                pixels.update(((number, pixel), index) for pixel in damage.dead)
    pairs = {(i, j) for same in (*copper.values(), *packs.values()) for i in same for j in same if i < j}
    for (number, pixel), index in pixels.items():
        if (number, pixel + 1) in pixels:
            beside = pixels[number, pixel + 1]
            pairs.add((min(index, beside), max(index, beside)))
    return sorted(pairs)


def _pair(body: Body, one: Outage, other: Outage, lost: Mask) -> Outage:
    names = (f"{one.names[0]}; {other.names[0]}",)
    lasts = min(one.lasts, other.lasts)
    apart = _outage(body, names, join_damages(one.damages, other.damages), lost, lasts)
    # while both last everything is lost; what lasts longer goes on alone
    longer = one if one.lasts >= other.lasts else other
    alone = _seconds(body, longer.lasts) - _seconds(body, lasts)
    cost = apart.cost + alone * float(longer.lost.mean())
    return Outage(names, apart.damages, lost, max(one.lasts, other.lasts), apart.pixels_lit, apart.circuits_lit, cost)


def _outage(body: Body, names: tuple[str, ...], damages: Mapping[int, Damage], lost: Mask, lasts: float) -> Outage:
    share = float(lost.mean())
    circuits = float(lit_circuits(body, lost).mean())
    return Outage(names, damages, lost, lasts, 1.0 - share, circuits, share * _seconds(body, lasts))


def _seconds(body: Body, lasts: float) -> float:
    return min(lasts, body.piece.brief.run_time)


def circuits_needed(body: Body) -> int:
    """Return how many circuits the brief wants lit: the share rounded up, but for rounding errors."""
    return math.ceil(body.piece.brief.survive.lit * len(body.anatomies) - 1e-9)


def smallest_breaks(body: Body, outages: Iterable[Outage], most: int = 3) -> list[tuple[str, ...]]:
    """Return the minimal sets of at most ``most`` faults that leave too few circuits lit, smallest first.

    Faults that put out the same circuits stand for one another, and one that puts out fewer circuits than another is
    still told where it breaks the demand together with others: each set is minimal in itself. ``outages`` are singles
    and what pairs lose beyond them, each as one.
    """
    allowed = len(body.anatomies) - circuits_needed(body)
    effects: dict[frozenset[int], tuple[str, ...]] = {}
    for outage in outages:
        out = frozenset(int(each) for each in np.flatnonzero(~lit_circuits(body, outage.lost)))
        if out and outage.lasts > PASSING:
            effects.setdefault(out, tuple(outage.names[0].split("; ")))
    return minimal_sets(effects, allowed, most)


def minimal_sets(effects: Mapping[frozenset[int], tuple[str, ...]], allowed: int, most: int) -> list[tuple[str, ...]]:
    """Return the minimal sets of effects whose union is larger than ``allowed``, of at most ``most`` faults each."""
    found: list[tuple[str, ...]] = []
    level: list[tuple[tuple[int, ...], frozenset[int]]] = [((), frozenset())]
    keys = sorted(effects, key=lambda out: (-len(out), sorted(out)))
    breaking: list[frozenset[int]] = []
    for _ in range(most):
        following = []
        for chosen, out in level:
            for index in range(chosen[-1] + 1 if chosen else 0, len(keys)):
                grown = out | keys[index]
                if len(grown) == len(out):
                    continue
                now = (*chosen, index)
                if len(grown) <= allowed:
                    following.append((now, grown))
                elif not any(known <= set(now) for known in breaking) and _is_minimal(now, keys, allowed):
                    breaking.append(frozenset(now))
                    names = tuple(dict.fromkeys(name for each in now for name in effects[keys[each]]))
                    if len(names) <= most:
                        found.append(names)
        level = following
    # faults that do more together stand for one effect: what holds a smaller set is no minimal one
    return sorted((each for each in found if not any(set(other) < set(each) for other in found)), key=len)


def _is_minimal(chosen: tuple[int, ...], keys: Sequence[frozenset[int]], allowed: int) -> bool:
    return all(len(frozenset().union(*(keys[each] for each in chosen if each != left))) <= allowed for left in chosen)
