"""The ways in which the members of a brief can be shared out among circuits."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from lampwright.piece.model import Hoop, Member, Piece, Staff, Straight
from lampwright.piece.path import path_length
from lampwright.propose.wish import Asked

LONGEST_WAY = 3.0
"""Farthest member that a circuit of several reaches from its board, by cable along the ground (our choice: data lines
become slow beyond some metres, see POWER-030). [m]"""

MOST_TOGETHER = 4
"""Members of one circuit (our choice)."""


@dataclass(frozen=True)
class RunPlan:
    """A run as it will be written."""

    name: str
    section: tuple[str, ...]
    """Lines of its section."""
    way: float = 0.3  # from the board to its head [m]
    skip: str = ""
    crown: str = ""
    """Name of the run whose middle it starts from; empty: from the hub."""


@dataclass(frozen=True)
class EntryPlan:
    """A circuit entry as it will be written."""

    name: str
    each: str
    """Empty: it is one circuit, not one for each member."""
    runs: tuple[RunPlan, ...]
    count: int


@dataclass(frozen=True)
class Grouping:
    """A way to share members out among circuits."""

    title: str
    reason: str
    entries: tuple[EntryPlan, ...]

    @property
    def n_circuit(self) -> int:
        """How many circuits it makes."""
        return sum(entry.count for entry in self.entries)


def whole_members(asked: Asked, count: int = 1) -> Grouping:
    """Return the plainest way: one circuit for each member that carries strip."""
    on = asked.wish.on
    runs = [RunPlan("strip", _section(asked, on))]
    if asked.wish.garland is not None and count > 1:
        runs.append(RunPlan("garland", _garland(asked), skip="last", crown="strip"))
    title = f"one circuit for each {on}"
    return Grouping(title, "one that fails leaves the others lit", (EntryPlan(on, on, tuple(runs), count),))


def groupings(asked: Asked, piece: Piece) -> tuple[Grouping, ...]:
    """Return every way that is weighed, given a piece of the brief's members."""
    on = asked.wish.on
    carriers = [each for each in piece.members if each.name == on or each.name.rpartition(" ")[0] == on]
    found = [whole_members(asked, len(carriers))]
    is_plain = asked.wish.zigzag is None and asked.wish.spiral is None and asked.wish.garland is None
    if is_plain and all(isinstance(each.shape, Hoop | Straight | Staff) for each in carriers):
        found.append(_halves(asked, carriers))
    if is_plain and len(carriers) > 1 and not any(isinstance(each.shape, Staff) for each in carriers):
        found += _several(asked, carriers)
    return tuple(found)


def _halves(asked: Asked, carriers: list[Member]) -> Grouping:
    """Two circuits for each member, one from each of its ends."""
    wish = asked.wish
    lit = path_length(carriers[0].shape) - wish.bare_start - wish.bare_end
    middle = [wish.bare_end + lit / 2, wish.bare_start + lit / 2]
    first = (f'on = "{wish.on}"', _length("bare_start", wish.bare_start), _length("bare_end", middle[0]))
    second = (
        f'on = "{wish.on}"',
        'direction = "back"',
        _length("bare_start", middle[1]),
        _length("bare_end", wish.bare_end),
    )
    entries = tuple(
        EntryPlan(name, wish.on, (RunPlan("strip", section),), len(carriers))
        for name, section in (("near half", first), ("far half", second))
    )
    return Grouping(f"two circuits for each {wish.on}", "one that fails leaves half of its member lit", entries)


def _several(asked: Asked, carriers: list[Member]) -> Iterator[Grouping]:
    """Neighbouring members on one circuit, each with a run of its own."""
    for size in range(2, min(MOST_TOGETHER, len(carriers)) + 1):
        if len(carriers) % size:
            continue
        entries = []
        for number, first in enumerate(range(0, len(carriers), size), 1):
            together = carriers[first : first + size]
            ways = [0.3 + math.dist(together[0].position, each.position) for each in together]
            if max(ways) > LONGEST_WAY:
                return
            runs = tuple(
                RunPlan(f"strip {index}", _section(asked, member.name), way)
                for index, (member, way) in enumerate(zip(together, ways, strict=True), 1)
            )
            entries.append(EntryPlan(f"group {number}", "", runs, 1))
        title = f"one circuit for every {size} {asked.wish.on}s"
        reason = "fewer packs and boards to buy, charge and carry"
        if asked.is_on_mains:
            reason = "fewer supplies and boards to buy and carry"
        yield Grouping(title, reason, tuple(entries))


def _section(asked: Asked, on: str) -> tuple[str, ...]:
    wish = asked.wish
    lines = [f'on = "{on}"']
    if wish.zigzag is not None:
        bay = wish.zigzag
        parts = [f'pitch = "{_metres(bay.pitch)}"']
        parts += [f'to = "{bay.to}"'] if bay.to is not None else []
        parts += [f'width = "{_metres(bay.width)}"'] if bay.width is not None else []
        parts += [f'clear = "{_metres(bay.clear)}"'] if bay.clear else []
        lines.append(f"zigzag = {{ {', '.join(parts)} }}")
    if wish.spiral is not None:
        lines.append(_length("spiral", wish.spiral))
    for key, value in (("bare_start", wish.bare_start), ("bare_end", wish.bare_end)):
        if value:
            lines.append(_length(key, value))
    return tuple(lines)


def _garland(asked: Asked) -> tuple[str, ...]:
    garland = asked.wish.garland
    assert garland is not None
    return (
        f'span = {{ from = "{asked.upper_point}", to = "next {asked.upper_point}" }}',
        _length("sag", garland.sag),
    )


def _length(key: str, value: float) -> str:
    return f'{key} = "{_metres(value)}"'


def _metres(value: float) -> str:
    return f"{round(value, 4):g} m"
