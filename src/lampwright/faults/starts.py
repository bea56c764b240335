"""How far apart circuits start when people walk from pack to pack and switch them on.

The shortest way past all packs is searched for, people share it as evenly as it goes, and each circuit starts when
somebody has reached it. What lies between the first and the last stays between them all evening.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.faults.every import Body
from lampwright.findings.model import Finding, Severity
from lampwright.units import format_quantity

WALKING = 1.0
"""On grass, in the dark, with a torch; a brisk walk by day is 1.4 (common practice, no source). [m/s]"""

AT_A_PACK = 20.0
"""To open the box, plug in and see the first pixel count (common practice, no source). [s]"""

MOST_EXACT = 10
"""Packs up to which every order is weighed; beyond that the way is improved until no turning round shortens it."""

FEW = 2
"""So many people are found for switching on (our choice)."""

BASIS = "shortest way past all packs; 1 m/s and 20 s a pack, common practice"


@dataclass(frozen=True)
class Start:
    """When one circuit is switched on."""

    circuit: str
    person: int
    """Counts from 1."""
    seconds: float
    """After the first circuit of all. [s]"""


@dataclass(frozen=True)
class Starts:
    """The way past all packs."""

    starts: tuple[Start, ...]
    """In the order of time."""
    is_shortest: bool
    """Whether no shorter way exists; beyond ten packs it is only one that no turning round shortens."""

    @property
    def spread(self) -> float:
        """From the first circuit to the last. [s]"""
        return self.starts[-1].seconds - self.starts[0].seconds


def switch_on(body: Body, people: int = 1) -> Starts:
    """Return when each circuit starts if so many people go around and switch all of them on.

    Raises
    ------
    ValueError
        Nobody goes.
    """
    if people < 1:
        raise ValueError(f"at least one person, not {people}")
    places = {member.name: member.position[:2] for member in body.piece.members}
    at = np.array([places[one.home] for one in body.anatomies], dtype=np.float64)
    steps = np.hypot(*(at[:, None] - at[None, :]).transpose(2, 0, 1))
    order, is_shortest = shortest_way(steps)
    starts = []
    for person, part in enumerate(share_way(order, steps, people), 1):
        seconds = AT_A_PACK
        for before, here in zip((None, *part), part, strict=False):
            if before is not None:
                seconds += steps[before, here] / WALKING + AT_A_PACK
            starts.append(Start(body.anatomies[here].name, person, float(seconds)))
    first = min(each.seconds for each in starts)
    timed = [Start(each.circuit, each.person, each.seconds - first) for each in starts]
    return Starts(tuple(sorted(timed, key=lambda each: each.seconds)), is_shortest)


def shortest_way(steps: NDArray[np.float64]) -> tuple[tuple[int, ...], bool]:
    """Return the shortest open way past all places, and whether it is proven to be that.

    Parameters
    ----------
    steps : (n, n) float64
        Distances, or anything else that adds up.

    Source
    ------
    Held and Karp's dynamic programme over subsets, any text on combinatorial optimisation; beyond ``MOST_EXACT`` places
    the nearest neighbour, then stretches of the way are turned round while that shortens it.
    """
    n = len(steps)
    return (_by_subsets(steps), True) if n <= MOST_EXACT else (_by_turning(steps), False)


def _by_subsets(steps: NDArray[np.float64]) -> tuple[int, ...]:
    n = len(steps)
    best: dict[tuple[int, int], tuple[float, tuple[int, ...]]] = {(1 << i, i): (0.0, (i,)) for i in range(n)}
    for size in range(2, n + 1):
        for chosen in itertools.combinations(range(n), size):
            mask = sum(1 << i for i in chosen)
            for last in chosen:
                rest = mask ^ (1 << last)
                length, way = min((best[rest, i][0] + steps[i, last], best[rest, i][1]) for i in chosen if i != last)
                best[mask, last] = (float(length), (*way, last))
    return min(best[(1 << n) - 1, i] for i in range(n))[1]


def _by_turning(steps: NDArray[np.float64]) -> tuple[int, ...]:
    def length(way: Sequence[int]) -> float:
        return float(sum(steps[a, b] for a, b in itertools.pairwise(way)))

    n = len(steps)
    way, left = [int(steps.sum(axis=0).argmax())], set(range(n))  # from the outermost
    left.discard(way[0])
    while left:
        way.append(min(left, key=lambda i: (steps[way[-1], i], i)))
        left.discard(way[-1])
    is_better = True
    while is_better:
        is_better = False
        for i, j in itertools.combinations(range(n + 1), 2):
            turned = way[:i] + way[i:j][::-1] + way[j:]
            if length(turned) < length(way) - 1e-9:
                way, is_better = turned, True
    return tuple(way)


def share_way(order: Sequence[int], steps: NDArray[np.float64], people: int) -> list[tuple[int, ...]]:
    """Return the way cut into at most so many stretches, so that the longest takes the least time.

    Exact: the times at which a stretch from each place to each other one ends are the only candidates.
    """

    def takes(first: int, last: int) -> float:
        walked = sum(steps[order[i], order[i + 1]] for i in range(first, last))
        return float(walked / WALKING + AT_A_PACK * (last - first))

    def cut(most: float) -> list[tuple[int, ...]]:
        parts, first = [], 0
        for here in range(len(order)):
            if takes(first, here) > most + 1e-9:
                parts.append(tuple(order[first:here]))
                first = here
        return [*parts, tuple(order[first:])]

    candidates = sorted({takes(i, j) for i in range(len(order)) for j in range(i, len(order))})
    return next(parts for most in candidates if len(parts := cut(most)) <= people)


def judge_starts(body: Body) -> Finding | None:
    """Return whether switching on fits the spread that the piece file plans for; ``None`` with one circuit."""
    if len(body.anatomies) < 2:
        return None
    brief, planned = body.piece.brief, body.piece.standby.switch_on_spread
    alone = switch_on(body).spread
    noun = body.piece.sources_noun
    value = f"one person takes {_say(alone)} from the first {noun} to the last"
    limit = f"{_say(planned)} planned"
    margin = 1.0 - alone / planned if planned > 0 else None
    if alone <= planned:
        summary = "switching on fits the time that is planned for it"
        return Finding("FAULT-003", Severity.PASS, brief.name, summary, value, limit, margin, "", BASIS)
    enough = people_needed(body, planned)
    rounded = format_quantity(math.ceil(alone / 10) * 10, "time")
    summary = f"switching on fits the time that is planned for it only with {enough} people"
    do = (
        f"have {enough} people switch on, all beginning at the same moment; or plan for it: "
        f'switch_on_spread = "{rounded}" in [standby], and read what REHEARSAL-015 says of it'
    )
    severity = Severity.NOTE if enough <= FEW else Severity.WARN
    return Finding("FAULT-003", severity, brief.name, summary, value, limit, margin, do, BASIS)


def people_needed(body: Body, spread: float) -> int:
    """Return how many people switch all circuits on within a spread; one for each circuit does it at once."""
    return next(n for n in range(1, len(body.anatomies) + 1) if switch_on(body, n).spread <= spread)


def _say(seconds: float) -> str:
    return format_quantity(round(seconds), "time")
