"""What a damaged circuit shows: which pixels are dark, frozen or wrong.

A pixel that gets no new data keeps its last colour: that is how the parts of the catalogue work, and what the
rehearsal sees when a chip falls silent. A pixel without power is dark and passes nothing on.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.faults.anatomy import HUB, Anatomy

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Damage:
    """What is broken in one circuit; two damages together are ``one | other``."""

    is_unpowered: bool = False
    """The pack gives nothing, or a short takes it all."""
    is_silent: bool = False
    """The board sends nothing."""
    links: frozenset[int] = frozenset()
    """Links with an open rail."""
    torn: frozenset[int] = frozenset()
    """Segments that came off, their copper and data cut at both ends."""
    breaks: frozenset[int] = frozenset()
    """Pixels before which the data line is open."""
    spoiled: frozenset[int] = frozenset()
    """Pixels before which the data line is wet: all after it may show anything."""
    dead: frozenset[int] = frozenset()
    """Pixels that neither shine nor pass data on."""

    def __or__(self, other: Damage) -> Damage:
        return Damage(
            self.is_unpowered or other.is_unpowered,
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
    if damage.is_unpowered:
        return Shown(np.ones(size, bool), np.zeros(size, bool), np.zeros(size, bool))
    dark = np.zeros(size, bool)
    reached = reached_nodes(anatomy, damage.links, damage.torn)
    for number, segment in enumerate(anatomy.segments):
        if number + 1 not in reached:
            dark[segment.first : segment.first + segment.n_pixel] = True
    dark[list(damage.dead)] = True
    frozen = np.full(size, damage.is_silent)
    wrong = np.zeros(size, bool)
    for run in anatomy.runs:
        first, last = _extent(anatomy, run)
        stop = _data_ends(dark, damage, first, last, anatomy.has_backup)
        frozen[stop:last] = True
        if wet := [place for place in damage.spoiled if first <= place < stop]:
            wrong[min(wet) : stop] = True
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


def _extent(anatomy: Anatomy, run: tuple[int, ...]) -> tuple[int, int]:
    head, tail = anatomy.segments[run[0]], anatomy.segments[run[-1]]
    return head.first, tail.first + tail.n_pixel


def _data_ends(dark: Mask, damage: Damage, first: int, last: int, has_backup: bool) -> int:
    """Return the first pixel of a run that new data doesn't reach, or ``last``."""
    breaks = [place for place in damage.breaks if first <= place < last]
    stop = min(breaks, default=last)
    gone = np.flatnonzero(dark[first:stop]) + first
    if has_backup and len(gone):
        # one that is gone is bridged by the second line, two in a row are not
        gone = gone[1:][np.diff(gone) == 1]
    return int(gone[0]) if len(gone) else stop
