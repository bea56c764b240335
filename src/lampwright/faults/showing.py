"""What a damaged circuit shows: which pixels are dark, frozen or wrong.

A pixel that gets no new data keeps its last colour: that is how the parts of the catalogue work, and what the
rehearsal sees when a chip falls silent. A pixel without power is dark and passes nothing on.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lampwright.faults.anatomy import HUB, Anatomy

Mask = NDArray[np.bool_]

Places = NDArray[np.int64]
"""Pixels within the circuit."""


@dataclass(frozen=True)
class Damage:
    """What is broken in one circuit; two damages together are ``one | other``."""

    is_unpowered: bool = False
    """The pack gives nothing, or a short takes it all."""
    packs: frozenset[int] = frozenset()
    """Of packs that feed the circuit at once, those that give nothing."""
    is_silent: bool = False
    """The board sends nothing."""
    links: frozenset[int] = frozenset()
    """Links with an open rail."""
    torn: frozenset[int] = frozenset()
    """Segments that came off, their copper and data cut at both ends."""
    breaks: frozenset[int] = frozenset()
    """Pixels before which the data line is open; the one past a run's last stands for the line to its far end."""
    spoiled: frozenset[int] = frozenset()
    """Pixels before which the data line is wet: all after it may show anything."""
    dead: frozenset[int] = frozenset()
    """Pixels that neither shine nor pass data on."""

    def __or__(self, other: Damage) -> Damage:
        return Damage(
            self.is_unpowered or other.is_unpowered,
            self.packs | other.packs,
            self.is_silent or other.is_silent,
            self.links | other.links,
            self.torn | other.torn,
            self.breaks | other.breaks,
            self.spoiled | other.spoiled,
            self.dead | other.dead,
        )


@dataclass(frozen=True, eq=False)
class Shown:
    """What is wrong with a circuit's (n_pixel,) pixels; each is in at most one of the three masks."""

    dark: Mask
    frozen: Mask
    wrong: Mask

    @property
    def lost(self) -> Mask:
        """Pixels that don't show the show."""
        return self.dark | self.frozen | self.wrong


def what_shows(anatomy: Anatomy, damage: Damage) -> Shown:
    """Return what a damaged circuit shows when the damage comes in the middle of the show."""
    size = anatomy.n_pixel
    if damage.is_unpowered or len(damage.packs) >= anatomy.n_pack:
        return Shown(np.ones(size, bool), np.zeros(size, bool), np.zeros(size, bool))
    dark = np.zeros(size, bool)
    reached = reached_nodes(anatomy, damage.links, damage.torn)
    for number, segment in enumerate(anatomy.segments):
        if number + 1 not in reached:
            dark[segment.first : segment.first + segment.n_pixel] = True
    dark[list(damage.dead)] = True
    frozen = np.full(size, damage.is_silent)
    wrong = np.zeros(size, bool)
    for chain, gaps in _chains(anatomy):
        stop = _data_ends(dark[chain], damage.breaks, gaps, anatomy.has_backup)
        frozen[chain[stop:]] = True
        wet = [number for number, gap in enumerate(gaps[:stop]) if gap in damage.spoiled] if damage.spoiled else []
        if wet:
            wrong[chain[wet[0] : stop]] = True
    frozen &= ~dark
    return Shown(dark, frozen, wrong & ~dark & ~frozen)


def reached_nodes(anatomy: Anatomy, open_links: frozenset[int], torn: frozenset[int]) -> frozenset[int]:
    """Return the nodes that both rails connect with the hub."""
    links = [link for number, link in enumerate(anatomy.links) if number not in open_links]
    reached = {HUB}
    is_growing = True
    while is_growing:
        is_growing = False
        for link in links:
            for here, there in ((link.start, link.end), (link.end, link.start)):
                if here in reached and there not in reached and there - 1 not in torn:
                    reached.add(there)
                    is_growing = True
    return frozenset(reached)


@lru_cache(maxsize=4096)
def _chains(anatomy: Anatomy) -> tuple[tuple[Places, list[int]], ...]:
    """Return each data chain: its pixels in the order of the data, and for each the gap in the line before it.

    A gap goes by the pixel that comes after it on the strip; so the way back from the far end begins with the one past
    the run's last pixel. Kept, since every fault of a circuit asks for them.
    """
    found: list[tuple[Places, list[int]]] = []
    for run in anatomy.runs:
        head, tail = anatomy.segments[run[0]], anatomy.segments[run[-1]]
        places = np.arange(head.first, tail.first + tail.n_pixel)
        middle = len(places) - far_half(len(places)) if anatomy.has_far_data else len(places)
        found.append((places[:middle], places[:middle].tolist()))
        if middle < len(places):
            back = places[middle:][::-1]
            found.append((back, (back + 1).tolist()))
    return tuple(found)


def far_half(n_pixel: int) -> int:
    """Return how many pixels of a run have their data from its far end, where the board sends to both."""
    return n_pixel // 2


def _data_ends(dark: Mask, breaks: frozenset[int], gaps: list[int], has_backup: bool) -> int:
    """Return which pixel of a chain is the first that new data doesn't reach, or how many there are."""
    stop = next((number for number, gap in enumerate(gaps) if gap in breaks), len(gaps)) if breaks else len(gaps)
    gone = np.flatnonzero(dark[:stop])
    if has_backup and len(gone):
        # one that is gone is bridged by the second line, two in a row are not
        gone = gone[1:][np.diff(gone) == 1]
    return int(gone[0]) if len(gone) else stop
