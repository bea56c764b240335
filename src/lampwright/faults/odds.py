"""How likely the brief's demand holds through the evening: exact, with the rates' own uncertainty carried through.

Circuits are independent but for the members that several of them hang on, and the mains outlets. Those are conditioned
on, and summed out as soon as the last circuit that needs them is counted, so that the work grows with how many are open
at once and not with how many there are. All faults of an evening count as if they had come at once, which is on the
safe side.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from lampwright.faults.anatomy import Anatomy
from lampwright.faults.circuit_odds import Chances, Distribution, lit_pixels, segments_on
from lampwright.faults.cost import LIT_FROM, PASSING, circuits_needed
from lampwright.faults.every import OF_ONE_PACK, ONLY_SUPPLIES, SILENCES, UNPOWERS, Body, lasts_of, unpowers
from lampwright.faults.kinds import FaultKind, Per, Place, Rate, Rates, Spot, all_kinds

STAYS = (FaultKind.RAIL_SHORT,)
"""Kinds that take a whole circuit, whatever pack and board it gets."""

SWAPPED = tuple(kind for kind in (*UNPOWERS, *SILENCES) if kind not in STAYS)
"""Kinds that another pack or supply and board make good."""

_State = tuple[frozenset[str], bool]
"""Members that are down and outlets that are off, and whether the spare pack and board are still in the case."""

N_DRAW = 100
"""Sets of rates that are drawn; the odds of each are exact. (our choice)"""

SEED = 1


@dataclass(frozen=True)
class Odds:
    """The chance that enough circuits stay lit."""

    holds: float
    """At the mean rates."""
    low: float
    high: float
    """Nine out of ten sets of rates give something between these."""
    weights: tuple[tuple[FaultKind, float], ...]
    """By how much the chance of failure would fall if a kind never came, largest first: its risk reduction."""


def rates() -> Rates:
    """Return the rate of each kind."""
    return {kind: facts.rate for kind, facts in all_kinds().items()}


def evening_chances(body: Body, known: Rates) -> dict[Spot, float]:
    """Return each kind's chance for one unit in one evening, at the mean rates."""
    return {spot: rate.chance(evening_hours(body)) for spot, rate in known.items()}


def evening_hours(body: Body) -> float:
    """Return standby and run time. [h]"""
    return (body.piece.brief.standby + body.piece.brief.run_time) / 3600.0


def work_out_odds(body: Body, known: Rates | None = None) -> Odds:
    """Return the chance that the brief's share of circuits stays lit, its spread and what matters most."""
    known = rates() if known is None else known
    chances = evening_chances(body, known)
    holds = demand_holds(body, chances)
    reductions = {kind: demand_holds(body, _without(chances, kind)) - holds for kind in FaultKind}
    drawn = [demand_holds(body, each) for each in _drawn_chances(body, known)]
    low, high = np.quantile(drawn, [0.05, 0.95])
    weights = sorted(reductions.items(), key=lambda entry: -entry[1])
    return Odds(holds, float(low), float(high), tuple(weights))


def _without(chances: Chances, kind: FaultKind) -> Chances:
    """Return the chances were a kind never to come, at whatever place."""
    never = (kind, *((kind, place) for place in Place))
    return {spot: 0.0 if spot in never else chance for spot, chance in chances.items()}


def demand_holds(body: Body, chances: Chances) -> float:
    """Return the exact chance that as many circuits as the brief wants stay lit."""
    return float(lit_circuit_odds(body, chances)[circuits_needed(body) :].sum())


def lit_circuit_odds(body: Body, chances: Chances) -> Distribution:
    """Return the distribution of lit circuits, (n_circuit + 1,)."""
    return _count(body, chances, _as_one)


def lit_pixel_odds(body: Body, chances: Chances, *, has_spare: bool = False) -> Distribution:
    """Return the distribution of the piece's lit pixels, (n_pixel + 1,).

    ``has_spare``: one pack and board lie ready for the first circuit that goes out as a whole, and somebody swaps them.
    """
    return _count(body, chances, _as_pixels, has_spare)


def _as_one(lit: Distribution) -> Distribution:
    """Return the chance that a circuit is out, and that it counts as lit."""
    shares = np.arange(len(lit)) / (len(lit) - 1)
    is_lit = float(lit[shares >= LIT_FROM].sum())
    return np.array([1.0 - is_lit, is_lit])


def _as_pixels(lit: Distribution) -> Distribution:
    return lit


def _count(
    body: Body, chances: Chances, as_counted: Callable[[Distribution], Distribution], has_spare: bool = False
) -> Distribution:
    needs = [one.members | _outlet(one) for one in body.anatomies]
    users = [name for of_one in needs for name in of_one]
    outlets = frozenset(name for one in body.anatomies for name in _outlet(one))
    shared = outlets | frozenset(name for name in users if users.count(name) > 1)
    if has_spare:  # it isn't taken for a circuit whose home is down
        shared |= {one.home for one in body.anatomies}
    last_use = {name: number for number, one in enumerate(needs) for name in one & shared}
    known: dict[object, Distribution] = {}
    states: dict[_State, Distribution] = {(frozenset(), has_spare): np.array([1.0])}
    opened: set[str] = set()
    for number, anatomy in enumerate(body.anatomies):
        for name in sorted(needs[number] & shared - opened):
            opened.add(name)
            p_down = chances[FaultKind.OUTLET_OFF if name in outlets else FaultKind.POST_DOWN]
            states = {
                (state, left): share * factor
                for (down, left), share in states.items()
                for state, factor in ((down, 1.0 - p_down), (down | {name}, p_down))
            }
        following: dict[_State, Distribution] = {}
        swapped, stays = _whole(body, number, chances, SWAPPED), _whole(body, number, chances, STAYS)
        for (down, left), share in states.items():
            kept = frozenset(name for name in down if last_use[name] > number)
            # a spare in the case makes good what can be swapped, and is gone if it was
            whole = stays if left else stays * swapped
            has_mains = not _outlet(anatomy) & down
            whole = whole if has_mains else 0.0
            lit = as_counted(_lit(anatomy, chances, whole, down & anatomy.members, anatomy.members - shared, known))
            counted = np.convolve(share, lit)
            taken = 1.0 - swapped if left and anatomy.home not in down and has_mains else 0.0
            for state, part in (((kept, left), 1.0 - taken), ((kept, False), taken)):
                if part > 0.0:
                    following[state] = following.get(state, 0.0) + part * counted
        states = following
    return np.asarray(sum(states.values()))


def _outlet(anatomy: Anatomy) -> frozenset[str]:
    """Return the outlet that a circuit needs, if it needs one, by a name that no member can have."""
    return frozenset({f"outlet\n{anatomy.outlet}"} if anatomy.outlet else ())


def _whole(body: Body, number: int, chances: Chances, kinds: Sequence[FaultKind]) -> float:
    """Return the chance that none of these kinds takes the whole of a circuit for longer than passes unseen."""
    circuit, n_pack = body.piece.circuits[number], body.anatomies[number].n_pack
    possible = (*unpowers(body.anatomies[number]), *SILENCES)
    lasting = [kind for kind in kinds if kind in possible and lasts_of(kind, circuit, body.piece) > PASSING]
    of_packs = float(np.prod([1.0 - chances[kind] for kind in lasting if kind in OF_ONE_PACK]))
    others = float(np.prod([1.0 - chances[kind] for kind in lasting if kind not in OF_ONE_PACK]))
    if body.anatomies[number].has_board_fuse and FaultKind.FUSE_BLOWN in lasting:
        others *= 1.0 - chances[FaultKind.FUSE_BLOWN]
    return others * (1.0 - (1.0 - of_packs) ** n_pack)


def _lit(
    anatomy: Anatomy,
    chances: Chances,
    whole: float,
    down: frozenset[str],
    own: frozenset[str],
    known: dict[object, Distribution],
) -> Distribution:
    """Return a circuit's lit pixels with these members down; circuits that are built alike are worked out once."""
    if anatomy.home in down:
        lit = np.zeros(anatomy.n_pixel + 1)
        lit[0] = 1.0
        return lit
    torn = segments_on(anatomy, down)
    build = tuple((each.run, each.first, each.n_pixel, each.is_span, each.section) for each in anatomy.segments)
    names = {section: number for number, section in enumerate(dict.fromkeys(each[-1] for each in build))}
    alike = tuple((*each[:-1], names[each[-1]]) for each in build)
    members = dict.fromkeys((anatomy.home, *(name for each in anatomy.segments for name in each.members)))
    numbers = {name: number for number, name in enumerate(members)}
    held = tuple(tuple(numbers[name] for name in each.members if name in own) for each in anatomy.segments)
    copper = tuple((link.start, link.end, link.is_feed, link.is_fused) for link in anatomy.links)
    flags = (anatomy.has_backup, anatomy.has_far_data, anatomy.home in own)
    key = (alike, held, copper, anatomy.runs, flags, whole, torn)
    if key not in known:
        known[key] = lit_pixels(anatomy, chances, whole, torn, own)
    return known[key]


def _drawn_chances(body: Body, known: Rates) -> list[dict[Spot, float]]:
    """Draw sets of rates from what is known of them: only the rates are drawn, never the faults."""
    # kinds of the mains and places have dice of their own, so that the rest stands on the same throws as ever
    dice, of_mains, of_places = (np.random.default_rng(SEED + number) for number in range(3))
    mains = (*ONLY_SUPPLIES, FaultKind.OUTLET_OFF)
    hours = evening_hours(body)
    drawn = []
    for _ in range(N_DRAW):
        values = {
            spot: _drawn(rate, of_places if isinstance(spot, tuple) else of_mains if spot in mains else dice)
            for spot, rate in known.items()
        }
        drawn.append({spot: known[spot].chance(hours, float(value)) for spot, value in values.items()})
    return drawn


def _drawn(rate: Rate, dice: np.random.Generator) -> float:
    return float(dice.beta(rate.bad, rate.good) if rate.per is Per.NIGHT else dice.gamma(rate.bad) / rate.good)
