"""Which fuse guards each wire of a circuit, and whether that wire may carry what the fuse lets through.

A wire must be guarded where its cross-section begins: by a fuse of its own there, or by one further up that is no more
than it may carry. Current can also come from a wire's other end, by way of a run that is fed at several points: there
the fuses of the other feeds count, however much strip lies between.

Source
------
IEC 60364-4-43, 433.1 (a fuse's rated current is no more than the conductor may carry), 433.2.1 and 434.2.1 (protection
stands where the cross-section shrinks, unless the device upstream protects the smaller one as well), from memory. What
fuses let through to a place is a greatest flow: L. R. Ford and D. R. Fulkerson, "Maximal flow through a network",
Canadian Journal of Mathematics 8 (1956).
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import maximum_flow

from lampwright.parts import Fuse, Wire, find, load_catalogue
from lampwright.piece.model import Cable, Circuit
from lampwright.power.fuse import circuit_fuse
from lampwright.power.wiring import feed_name

SOURCE, HUB, BOARD = "source", "hub", "board"
"""Places that a circuit's wires join, besides its runs."""

BOARD_WIRES = ("awg-22", "awg-20", "awg-18", "awg-16")
"""What a board's supply pins take; the thinnest that is guarded is laid (common practice, no source)."""

FUSED_BOARD_WIRE, BOARD_FUSE = "awg-20", "fuse-1a"
"""A board's supply where none of these is thick enough for the lead's fuse."""

_MILLI = 1000
_NO_FUSE = 10**9  # far above any sum of fuses [mA]


@dataclass(frozen=True)
class Conductor:
    """A wire that is laid twice, plus and ground, and the fuse in its plus at its start."""

    name: str
    wire: Wire
    start: str
    end: str
    fuse: Fuse | None = None


@dataclass(frozen=True)
class Guard:
    """What fuses let through to a conductor from either end."""

    conductor: Conductor
    at_start: float
    """Behind its own fuse; ``inf``: no fuse anywhere on the way. [A]"""
    at_end: float
    """From its other end; 0 where nothing else leads there. [A]"""

    @property
    def most(self) -> float:
        """What fuses let through from the worse end. [A]"""
        return max(self.at_start, self.at_end)

    @property
    def is_safe(self) -> bool:
        """Whether the wire may carry that."""
        return self.most <= self.conductor.wire.ampacity.value


@dataclass(frozen=True)
class FittedFuse:
    """A fuse of a circuit."""

    mark: str
    """Such as "F2": the same on the drawing, in the lists and on the joint list."""
    where: str
    """The conductor whose plus it stands in, or "pack 2" of several that share the load."""
    fuse: Fuse


def guards(conductors: Sequence[Conductor], source: str = SOURCE) -> tuple[Guard, ...]:
    """Return how each of these conductors is guarded against what its source may give."""
    return tuple(_guard(each, [other for other in conductors if other is not each], source) for each in conductors)


def circuit_guards(circuit: Circuit) -> tuple[Guard, ...]:
    """Return how a circuit's lead, its board's supply and its feeds are guarded, in this order."""
    return guards((*_trunk(circuit), *_feeds(circuit)))


def is_guarded(circuit: Circuit) -> bool:
    """Return whether every wire of a circuit may carry what its fuses let through."""
    return all(each.is_safe for each in circuit_guards(circuit))


def board_supply(circuit: Circuit) -> Cable:
    """Return the wire of the board's supply and, where none is thick enough for the lead's fuse, a fuse; no length."""
    rating = circuit_fuse(circuit).rating.value
    for name in BOARD_WIRES:
        wire = find(Wire, name)
        if wire.ampacity.value >= rating:
            return Cable(wire, 0.0)
    return Cable(find(Wire, FUSED_BOARD_WIRE), 0.0, find(Fuse, BOARD_FUSE))


def fuses_of(circuit: Circuit) -> tuple[FittedFuse, ...]:
    """Return every fuse of a circuit with its mark: at each pack, in the lead, in the board's supply, in feeds.

    Packs that share the load have one each, and the lead behind their diodes has its own.
    """
    fuse = circuit_fuse(circuit)
    found = [(f"pack {number + 1}", fuse) for number in range(circuit.bank.count)] if circuit.bank.is_shared else []
    found += [(each.name, each.fuse) for each in (*_trunk(circuit), *_feeds(circuit)) if each.fuse is not None]
    return tuple(FittedFuse(f"F{number}", where, fuse) for number, (where, fuse) in enumerate(found, start=1))


def with_lead_fuse(circuit: Circuit, fuse: Fuse) -> Circuit:
    """Return a circuit with this fuse in its lead."""
    lead = dataclasses.replace(circuit.wiring.lead, fuse=fuse)
    return dataclasses.replace(circuit, wiring=dataclasses.replace(circuit.wiring, lead=lead))


def thinnest_that_carries(current: float, like: Wire) -> Wire | None:
    """Return the catalogue's thinnest wire that may carry a current [A] and is no thinner than another, of its sort."""
    wires = [each for each in load_catalogue().wires.values() if each.area.value >= like.area.value]
    fits = [each for each in wires if each.ampacity.value >= current]
    sort = like.name.split("-")[0]  # who has AWG at hand looks for AWG
    return min(fits, key=lambda each: (not each.name.startswith(sort), each.area.value), default=None)


def _trunk(circuit: Circuit) -> tuple[Conductor, ...]:
    """Return the lead and the board's supply."""
    supply = board_supply(circuit)
    return (
        Conductor("lead", circuit.wiring.lead.wire, SOURCE, HUB, circuit_fuse(circuit)),
        Conductor("board's supply", supply.wire, HUB, BOARD, supply.fuse),
    )


def _feeds(circuit: Circuit) -> tuple[Conductor, ...]:
    return tuple(
        Conductor(
            feed_name(run.name, feed.at),
            feed.cable.wire,
            HUB if feed.origin is None else _run(feed.origin.run),
            _run(run.name),
            feed.cable.fuse,
        )
        for run in circuit.runs
        for feed in run.feeds
    )


def _run(name: str) -> str:
    """Return the place that a run is: its strip joins all that is soldered to it."""
    return f"run {name}"


def _guard(conductor: Conductor, others: Sequence[Conductor], source: str) -> Guard:
    own = conductor.fuse.rating.value if conductor.fuse is not None else math.inf
    at_start = min(own, _let_through(others, source, conductor.start))
    return Guard(conductor, at_start, _let_through(others, source, conductor.end))


def _let_through(conductors: Sequence[Conductor], source: str, place: str) -> float:
    """Return what the fuses of these conductors let through from the source to a place. [A]"""
    joined = sorted({end for each in conductors for end in (each.start, each.end)})
    places = {name: number for number, name in enumerate(joined)}
    if place == source:
        return math.inf
    if place not in places or source not in places:
        return 0.0
    ends = np.array([(places[each.start], places[each.end]) for each in conductors])
    limits = [_NO_FUSE if each.fuse is None else round(each.fuse.rating.value * _MILLI) for each in conductors]
    # a wire carries current either way; several between the same places add up, none beyond what stands for no fuse
    rows, columns = np.concatenate([ends, ends[:, ::-1]]).T
    capacities = np.zeros((len(places), len(places)), np.int64)
    np.add.at(capacities, (rows, columns), np.array([*limits, *limits], np.int64))
    np.fill_diagonal(capacities, 0)
    graph = coo_array(np.minimum(capacities, _NO_FUSE).astype(np.int32)).tocsr()
    flow = maximum_flow(graph, places[source], places[place]).flow_value
    return math.inf if flow >= _NO_FUSE else float(flow) / _MILLI
