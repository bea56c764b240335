"""Ways to build the same piece otherwise: each turns a body into another with the same pixels."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from lampwright.faults.anatomy import HUB, Anatomy, Link, Segment
from lampwright.faults.every import Body
from lampwright.faults.showing import reached_nodes
from lampwright.piece.model import Circuit

MOST_PARTS = 8
"""A circuit is cut into so many at most (our choice)."""


@dataclass(frozen=True)
class Change:
    """One way to build a piece otherwise."""

    name: str
    apply: Callable[[Body], Body]
    counts: Mapping[str, float]
    """How many more of each thing of ``arrangements.toml`` it takes; negative where it takes fewer."""
    has_pairs: bool = False
    """Each circuit has a second pack that takes over by itself."""
    has_spare: bool = False
    """A pack or supply and a board lie ready for the first circuit that goes out, and somebody swaps them."""


def changes(body: Body) -> Iterator[Change]:
    """Yield each change that a piece allows."""
    n_circuit, noun = len(body.anatomies), _source_noun(body)
    if n_circuit > 1:
        yield Change(f"one {noun} and one board for all", merged, {"pack": 1.0 - n_circuit, "board": 1.0 - n_circuit})
    by_member = [_by_member(one) for one in body.anatomies]
    if more := sum(len(set(parts)) - 1 for parts in by_member):
        counts = {"pack": more, "board": more, "feed": more}
        yield Change("each member a circuit of its own", lambda one: _all_parted(one, _by_member), counts)
    for k in _part_counts(body):
        more = (k - 1) * n_circuit
        yield Change(f"each circuit made into {k}", _CutInto(k), {"pack": more, "board": more, "feed": more})
    if all(segment.n_pixel > 1 for one in body.anatomies for segment in one.segments):
        more_parts = {"pack": n_circuit, "board": n_circuit, "strip": metres(body)}
        yield Change("two strips of half density, a circuit each", halved, more_parts)
    if more := sum(len(_far_feeds(one)) for one in body.anatomies):
        yield Change("every run fed at both ends", _fed_at_both_ends, {"feed": more})
    if not all(one.has_far_data for one in body.anatomies):
        lines = {"data line": _run_metres(body)}
        yield Change("data sent to both ends of every run", lambda one: _each(one, has_far_data=True), lines)
    if not all(one.has_backup for one in body.anatomies):
        backed = {"backup": metres(body)}
        yield Change("pixels with a second data line", lambda one: _each(one, has_backup=True), backed)
    for k in _outlet_counts(body):
        yield Change(f"circuits dealt out to {k} outlets, each with an RCD of its own", _OnOutlets(k), {})
    # circuits whose packs go in turn have a second one already, though none that takes over by itself
    is_single = all(circuit.bank.count == 1 for circuit in body.piece.circuits)
    if is_single and all(one.n_pack == 1 and not one.outlet for one in body.anatomies):
        yield Change("packs in pairs", _same, {"pack": n_circuit}, has_pairs=True)
    ready = {"pack": 1.0, "board": 1.0}
    yield Change(f"a {noun} and a board ready, and someone to swap them", _same, ready, has_spare=True)


def _source_noun(body: Body) -> str:
    """Return what feeds most circuits: "pack" or "supply"."""
    on_mains = sum(bool(one.outlet) for one in body.anatomies)
    return "supply" if 2 * on_mains > len(body.anatomies) else "pack"


def _outlet_counts(body: Body) -> tuple[int, ...]:
    """Return to how many outlets circuits on the mains may be dealt out: two, and as many as the demand calls for."""
    demand = body.piece.brief.survive
    on_mains = [one.outlet for one in body.anatomies if one.outlet]
    # of each outlet that fails so many circuits may go dark
    spare = math.floor((1.0 - demand.lit) * len(body.anatomies) + 1e-9) // max(1, demand.failures)
    wanted = {2} | ({math.ceil(len(on_mains) / spare)} if spare else set())
    return tuple(k for k in sorted(wanted) if len(set(on_mains)) < k <= len(on_mains))


@dataclass(frozen=True)
class _OnOutlets:
    """Deals the circuits on the mains out to ``k`` outlets, one after the other."""

    k: int

    def __call__(self, body: Body) -> Body:
        names = itertools.cycle(f"outlet {number + 1}" for number in range(self.k))
        return with_anatomies(body, [replace(one, outlet=next(names)) if one.outlet else one for one in body.anatomies])


def metres(body: Body) -> float:
    """Return how much strip a piece carries. [m]"""
    return sum(
        one.n_pixel / circuit.strip.density.value
        for circuit, one in zip(body.piece.circuits, body.anatomies, strict=True)
    )


def _run_metres(body: Body) -> float:
    """Return how long data lines to all far ends are: as long as the runs. [m]"""
    return sum(
        metres(body) * sum(one.segments[i].n_pixel for i in run) / body.n_pixel
        for one in body.anatomies
        if not one.has_far_data
        for run in one.runs
    )


def _part_counts(body: Body) -> tuple[int, ...]:
    """Return into how many parts circuits may be cut: two, and as many as the brief's demand calls for."""
    demand, n_circuit = body.piece.brief.survive, len(body.anatomies)
    wanted = {2}
    if demand.lit < 1.0:
        needed = math.ceil(demand.failures / (1.0 - demand.lit) - 1e-9)
        wanted.add(math.ceil(needed / n_circuit))
    smallest = min(one.n_pixel for one in body.anatomies)
    return tuple(k for k in sorted(wanted) if 2 <= k <= min(MOST_PARTS, smallest))


def _same(body: Body) -> Body:
    return body


def _each(body: Body, **flags: bool) -> Body:
    return with_anatomies(body, [replace(one, **flags) for one in body.anatomies])  # type: ignore[arg-type]


def with_anatomies(body: Body, anatomies: Sequence[Anatomy], circuits: Sequence[Circuit] | None = None) -> Body:
    """Return a body of these circuits; ``circuits`` are those of the piece file that they come from."""
    offsets = (0, *itertools.accumulate(one.n_pixel for one in anatomies))
    piece = body.piece if circuits is None else replace(body.piece, circuits=tuple(circuits))
    return Body(piece, tuple(anatomies), offsets)


def _fed_at_both_ends(body: Body) -> Body:
    return with_anatomies(body, [replace(one, links=(*one.links, *_far_feeds(one))) for one in body.anatomies])


def _far_feeds(anatomy: Anatomy) -> tuple[Link, ...]:
    """Return a feed at the far end of each run that has only one."""
    return tuple(
        Link(f"feed of {name} at 100 %", HUB, run[-1] + 1, True)
        for name, run in zip(anatomy.run_names, anatomy.runs, strict=True)
        if sum(link.is_feed and link.end - 1 in run for link in anatomy.links) < 2
    )


def merged(body: Body) -> Body:
    """Return all circuits as one: their runs side by side from one hub."""
    segments: list[Segment] = []
    links: list[Link] = []
    runs: list[tuple[int, ...]] = []
    names: list[str] = []
    for one, first in zip(body.anatomies, body.offsets, strict=False):
        here = len(segments)
        segments += [replace(each, run=each.run + len(runs), first=each.first + first) for each in one.segments]
        links += [
            replace(link, start=link.start + here if link.start else HUB, end=link.end + here) for link in one.links
        ]
        runs += [tuple(index + here for index in run) for run in one.runs]
        names += [f"{one.name} {name}" for name in one.run_names]
    backed, far = (all(getattr(one, flag) for one in body.anatomies) for flag in ("has_backup", "has_far_data"))
    outlet = body.anatomies[0].outlet
    parts = tuple(segments), tuple(links), tuple(runs), tuple(names)
    whole = Anatomy("all", body.n_pixel, *parts, backed, far, outlet=outlet)
    return with_anatomies(body, [whole], body.piece.circuits[:1])


def halved(body: Body) -> Body:
    """Return each circuit as two of half the pixels along the same way."""
    circuits, anatomies = [], []
    for circuit, one in zip(body.piece.circuits, body.anatomies, strict=True):
        for half in (0, 1):
            circuits.append(circuit)
            segments, first = [], 0
            for each in one.segments:
                size = (each.n_pixel + 1 - half) // 2
                segments.append(replace(each, first=first, n_pixel=size))
                first += size
            anatomies.append(replace(one, name=f"{one.name} {'ab'[half]}", n_pixel=first, segments=tuple(segments)))
    return with_anatomies(body, anatomies, circuits)


@dataclass(frozen=True)
class _CutInto:
    """Cuts each circuit into ``k`` of about the same number of pixels, one after the other along its runs."""

    k: int

    def __call__(self, body: Body) -> Body:
        places = [[round(one.n_pixel * i / self.k) for i in range(1, self.k)] for one in body.anatomies]
        cut = [_cut_segments(one, at) for one, at in zip(body.anatomies, places, strict=True)]
        return _all_parted(with_anatomies(body, cut), self._numbers)

    def _numbers(self, anatomy: Anatomy) -> list[int]:
        ends = [round(anatomy.n_pixel * i / self.k) for i in range(1, self.k)]
        return [sum(each.first >= end for end in ends) for each in anatomy.segments]


def _by_member(anatomy: Anatomy) -> list[int]:
    """Return which part each segment goes to when each member with fixed strip becomes a circuit of its own.

    A span goes with the member that it starts from.
    """
    numbers: dict[str, int] = {}
    for segment in anatomy.segments:
        if not segment.is_span:
            numbers.setdefault(segment.members[0], len(numbers))
    return [numbers.get(segment.members[0], 0) for segment in anatomy.segments]


def _cut_segments(anatomy: Anatomy, places: Sequence[int]) -> Anatomy:
    """Return a circuit whose segments are cut at these pixels too; feeds are dealt out over the pieces in order."""
    segments: list[Segment] = []
    pieces: list[list[int]] = []
    for each in anatomy.segments:
        inside = [place for place in places if each.first < place < each.first + each.n_pixel]
        starts, ends = [each.first, *inside], [*inside, each.first + each.n_pixel]
        pieces.append(list(range(len(segments), len(segments) + len(starts))))
        segments += [replace(each, first=a, n_pixel=b - a) for a, b in zip(starts, ends, strict=True)]
    links = [
        Link(f"joint before pixel {segments[i].first}", i, i + 1, False, True) for of_one in pieces for i in of_one[1:]
    ]
    feeds: defaultdict[int, list[Link]] = defaultdict(list)
    for link in anatomy.links:
        if link.is_feed:
            feeds[link.end].append(link)
        else:
            links.append(replace(link, start=pieces[link.start - 1][-1] + 1, end=pieces[link.end - 1][0] + 1))
    for end, of_one in feeds.items():
        at = pieces[end - 1]
        for rank, link in enumerate(of_one):
            start = pieces[link.start - 1][0] + 1 if link.start else HUB
            links.append(replace(link, start=start, end=at[rank * len(at) // len(of_one)] + 1))
    runs = tuple(tuple(i for index in run for i in pieces[index]) for run in anatomy.runs)
    return replace(anatomy, segments=tuple(segments), links=tuple(links), runs=runs)


def _all_parted(body: Body, numbers_of: Callable[[Anatomy], list[int]]) -> Body:
    circuits, anatomies = [], []
    for circuit, one in zip(body.piece.circuits, body.anatomies, strict=True):
        parts = _parted(one, numbers_of(one))
        anatomies += parts
        circuits += [circuit] * len(parts)
    return with_anatomies(body, anatomies, circuits)


def _parted(anatomy: Anatomy, numbers: Sequence[int]) -> list[Anatomy]:
    """Return a circuit taken apart into several, by the part that each segment goes to.

    Each part has the copper within it, the feeds that come from the hub, and one at its head where none is left.
    """
    found = []
    for number in sorted(set(numbers)):
        kept = [index for index, each in enumerate(numbers) if each == number]
        here = {old: new for new, old in enumerate(kept)}
        segments, first = [], 0
        of_runs: dict[int, list[int]] = {}
        for old in kept:
            of_runs.setdefault(anatomy.segments[old].run, []).append(here[old])
            run = len(of_runs) - 1
            segments.append(replace(anatomy.segments[old], run=run, first=first))
            first += anatomy.segments[old].n_pixel
        links = [
            replace(link, start=here[link.start - 1] + 1 if link.start else HUB, end=here[link.end - 1] + 1)
            for link in anatomy.links
            if link.end - 1 in here and (link.start == HUB or link.start - 1 in here)
        ]
        names = tuple(anatomy.run_names[run] for run in of_runs)
        runs = tuple(tuple(run) for run in of_runs.values())
        part = replace(
            anatomy,
            name=f"{anatomy.name} part {number + 1}",
            n_pixel=first,
            segments=tuple(segments),
            links=tuple(links),
            runs=runs,
            run_names=names,
        )
        found.append(_fed(part))
    return found


def _fed(anatomy: Anatomy) -> Anatomy:
    """Return a circuit with a feed at the head of each stretch of copper that has none."""
    for name, run in zip(anatomy.run_names, anatomy.runs, strict=True):
        for index in run:
            if index + 1 not in reached_nodes(anatomy, frozenset(), frozenset()):
                feed = Link(f"feed of {name} at its head", HUB, index + 1, True)
                anatomy = replace(anatomy, links=(*anatomy.links, feed))
    return anatomy
