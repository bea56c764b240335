"""Turn the members of a piece file into members that stand, patterns written out."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lampwright.piece.model import Base, Member, Shape, Staff, Support
from lampwright.piece.names import NamesTaken
from lampwright.piece.patterns import Pattern, Spot, read_pattern
from lampwright.piece.points import Copy, Stand
from lampwright.piece.report import Report
from lampwright.piece.schema import AnyMemberEntry, StaffEntry
from lampwright.piece.shapes import read_shape
from lampwright.piece.source import Path
from lampwright.piece.validate import Draft
from lampwright.units import Place


def expand_members(draft: Draft, report: Report) -> Stand:
    """Return all members that stand; report names taken twice, and shapes and patterns that can't be."""
    entries: dict[str, tuple[Copy, ...]] = {}
    members: dict[str, Member] = {}
    unread = [listed.name for listed in draft.members if listed.entry is None]
    taken = NamesTaken("member", report)
    for listed in draft.members:
        entry = listed.entry
        if entry is None:
            continue
        copies = _copies(entry, listed.path, report)
        if copies is None:
            unread.append(entry.name)
            continue
        names = [entry.name, *(copy.member.name for copy in copies)]
        if not taken.take(names, (*listed.path, "name")):
            continue
        entries[entry.name] = copies
        members.update({copy.member.name: copy.member for copy in copies})
    return Stand(
        entries,
        members,
        unread=frozenset(name for name in unread if name is not None),
        has_nameless=any(name is None for name in unread),
    )


def _copies(entry: AnyMemberEntry, path: Path, report: Report) -> tuple[Copy, ...] | None:
    """Return the members that an entry stands for, in their order; ``None`` where it had problems of its own."""
    shape = read_shape(entry, path, report)
    pattern = None if shape is None else read_pattern(entry, shape, path, report)
    return None if pattern is None else tuple(_written_out(entry, pattern, report.locations.value(path)))


def _written_out(entry: AnyMemberEntry, pattern: Pattern, written: Place) -> Iterator[Copy]:
    base = None if entry.base is None else Base(entry.base.mass, entry.base.reach, entry.base.legs)
    support = Support(entry.tube, entry.socket, base)
    count, in_row = len(pattern.spots), pattern.in_row
    for index, spot in enumerate(pattern.spots):
        is_first, is_last = index % in_row == 0, index % in_row == in_row - 1
        following, preceding = (None if is_last else index + 1), (None if is_first else index - 1)
        if pattern.is_ring:
            following, preceding = (index + 1) % count, (index - 1) % count
        name = entry.name if entry.repeat is None else f"{entry.name} {index + 1}"
        member = Member(name, spot.shape, _foot(entry, spot), spot.turn, support, written)
        yield Copy(member, following, preceding, is_first, is_last)


def _foot(entry: AnyMemberEntry, spot: Spot) -> tuple[float, float, float]:
    """Return where the member's own axes begin; a staff's foot follows from the hand that holds it."""
    x, y, z = spot.position
    shape: Shape = spot.shape
    if not (isinstance(shape, Staff) and isinstance(entry, StaffEntry)):
        return spot.position
    aside = shape.grip * math.sin(shape.lean)
    return (
        x - aside * math.cos(spot.turn),
        y - aside * math.sin(spot.turn),
        z + entry.held - shape.grip * math.cos(shape.lean),
    )
