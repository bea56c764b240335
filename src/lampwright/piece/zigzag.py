"""Strip laid back and forth: legs across one member, or from one member to another, one pitch from the next.

Strip doesn't bend on edge, so each leg is a section of its own: at each turn it is cut and joined by a short cable.
"""

from __future__ import annotations

import math

from lampwright.piece.model import FixedSection, Leg, Member
from lampwright.piece.path import path_length
from lampwright.piece.schema import SectionEntry, ZigzagEntry
from lampwright.units import Place, Problem, format_quantity

MOST_LEGS = 500
"""Of one zigzag; a slip of the finger should not fill the memory."""


def legs_of(section: SectionEntry, member: Member, other: Member | None, place: Place) -> list[FixedSection] | Problem:
    """Return the legs in the order of the chain, or why there are none.

    Parameters
    ----------
    other
        Where the legs end; ``None`` where they lie across ``member``, half of their width on each side.
    """
    zigzag = section.zigzag
    assert zigzag is not None
    length = path_length(member.shape)
    start, end = section.bare_start or 0.0, section.bare_end or 0.0
    room = length - start - end
    if room < 0:
        return _no_room(member.name, length, start + end)
    count = math.floor(room / zigzag.pitch + 1e-9) + 1
    if count > MOST_LEGS:
        return _too_many(count, zigzag, room)
    stretch = 1.0 if other is None else path_length(other.shape) / length
    half = (zigzag.width or 0.0) / 2
    legs = []
    for index in range(count):
        at = start + index * zigzag.pitch
        leg = Leg(at, other or member, at * stretch, -half, half, zigzag.clear)
        legs.append(
            FixedSection(
                f"{member.name} leg {index + 1}", member, 0.0, 0.0, is_back=index % 2 == 1, leg=leg, place=place
            )
        )
    return legs


def unclear(zigzag: ZigzagEntry) -> Problem | None:
    """Return the problem of a zigzag that doesn't say where its legs end, if it is one."""
    if (zigzag.to is None) != (zigzag.width is None):
        return None
    found = 'neither "to" nor "width"' if zigzag.to is None else 'both "to" and "width"'
    return Problem(
        code="PIECE-017",
        summary="it is unclear where the legs of this zigzag end",
        found=found,
        allowed='either to = "batten", another member, or width = "30 cm", across this one',
        do="give one of the two" if zigzag.to is None else "delete one of the two",
    )


def _no_room(member: str, length: float, bare: float) -> Problem:
    return Problem(
        code="PIECE-043",
        summary=f'the bare ends leave nothing of "{member}" for a zigzag',
        found=f"{format_quantity(bare, 'length')} bare of {format_quantity(length, 'length')}",
        allowed=f"bare ends of less than {format_quantity(length, 'length')} together",
        do="shorten bare_start or bare_end",
    )


def _too_many(count: int, zigzag: ZigzagEntry, room: float) -> Problem:
    least = format_quantity(math.ceil(1000 * room / (MOST_LEGS - 1)) / 1000, "length", 6)
    return Problem(
        code="PIECE-043",
        summary="these are too many legs",
        found=f"{count} legs {format_quantity(zigzag.pitch, 'length')} apart",
        allowed=f"up to {MOST_LEGS} legs in one zigzag",
        do=f'take a longer pitch, such as pitch = "{least}"',
    )
