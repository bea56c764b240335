"""Turn the entries of a piece file into members and circuits, patterns written out."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lampwright.piece.model import Base, Hoop, Member, Straight, Support
from lampwright.piece.names import NamesTaken
from lampwright.piece.points import Copy, Stand
from lampwright.piece.report import Report
from lampwright.piece.schema import GridEntry, HoopEntry, RingEntry, StraightEntry
from lampwright.piece.validate import Draft
from lampwright.units import Place, Problem, format_quantity

_Position = tuple[float, float, float]


def expand_members(draft: Draft, report: Report) -> Stand:
    """Return all members that stand; report names taken twice and hoops that can't be."""
    entries: dict[str, tuple[Copy, ...]] = {}
    members: dict[str, Member] = {}
    taken = NamesTaken("member", report)
    for listed in draft.members:
        entry = listed.entry
        if entry is None:
            continue
        if isinstance(entry, HoopEntry) and entry.height < entry.width / 2:
            report.at_value((*listed.path, "height"), _hoop_too_low(entry))
        copies = tuple(_copies(entry, report.locations.value(listed.path)))
        names = [entry.name, *(copy.member.name for copy in copies)]
        if not taken.take(names, (*listed.path, "name")):
            continue
        entries[entry.name] = copies
        members.update({copy.member.name: copy.member for copy in copies})
    unread = [listed for listed in draft.members if listed.entry is None]
    return Stand(
        entries,
        members,
        unread=frozenset(listed.name for listed in unread if listed.name is not None),
        has_nameless=any(listed.name is None for listed in unread),
    )


def _hoop_too_low(entry: HoopEntry) -> Problem:
    # Rounded up to the centimetre, so that what is suggested does.
    least = format_quantity(math.ceil(entry.width * 50) / 100, "length", 6)
    return Problem(
        code="PIECE-020",
        summary="the hoop is lower than its half circle",
        found=f"height {format_quantity(entry.height, 'length')}, width {format_quantity(entry.width, 'length')}",
        allowed=f"a height of at least half the width, {least}",
        do=f'make it higher, such as height = "{least}", or narrower',
    )


def _copies(entry: HoopEntry | StraightEntry, written: Place) -> Iterator[Copy]:
    """Yield the members that an entry stands for, in their order."""
    repeat = entry.repeat
    if repeat is None:
        yield Copy(_member(entry, entry.name, entry.at, entry.turn, written), None, None, is_first=True, is_last=True)
        return
    if isinstance(repeat, GridEntry):
        # Neighbours and ends are those along x, within one row of the grid.
        in_row, count = repeat.count[0], math.prod(repeat.count)
    else:
        in_row = count = repeat.count
    for index in range(count):
        is_first, is_last = index % in_row == 0, index % in_row == in_row - 1
        following, preceding = (None if is_last else index + 1), (None if is_first else index - 1)
        position, turn = _placed(entry, index)
        if isinstance(repeat, RingEntry) and count > 1:
            following, preceding = (index + 1) % count, (index - 1) % count
        member = _member(entry, f"{entry.name} {index + 1}", position, turn, written)
        yield Copy(member, following, preceding, is_first, is_last)


def _placed(entry: HoopEntry | StraightEntry, index: int) -> tuple[_Position, float]:
    """Return position and turn of the copy at ``index``, from 0."""
    repeat = entry.repeat
    assert repeat is not None
    x, y, z = entry.at
    if isinstance(repeat, RingEntry):
        angle = math.tau * index / repeat.count
        # A post faces where it leans, along its own x axis; a hoop faces square to its own plane,
        # so that its left foot is on the left for someone who looks at the ring from outside.
        outward = angle + (math.pi / 2 if isinstance(entry, HoopEntry) else 0.0)
        place = (x + repeat.radius * math.cos(angle), y + repeat.radius * math.sin(angle), z)
        return place, entry.turn + outward
    if isinstance(repeat, GridEntry):
        row, column = divmod(index, repeat.count[0])
        return (x + column * repeat.step[0], y + row * repeat.step[1], z), entry.turn
    step_x, step_y, step_z = repeat.step
    return (x + index * step_x, y + index * step_y, z + index * step_z), entry.turn


def _member(entry: HoopEntry | StraightEntry, name: str, position: _Position, turn: float, written: Place) -> Member:
    shape = Hoop(entry.width, entry.height) if isinstance(entry, HoopEntry) else Straight(entry.length, entry.lean)
    base = None if entry.base is None else Base(entry.base.mass, entry.base.reach, entry.base.legs)
    return Member(name, shape, position, turn, Support(entry.tube, entry.socket, base), written)
