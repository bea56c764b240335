"""Members with their neighbours, and the named points that spans hang between."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from lampwright.piece.model import Anchor, Arc, Bent, Hoop, Member, Shape, Staff, Straight
from lampwright.piece.report import did_you_mean, quoted_list
from lampwright.units import Problem

_POINTS: dict[type[Shape], tuple[str, ...]] = {
    Straight: ("foot", "top"),
    Staff: ("foot", "hand", "top"),
    Hoop: ("left foot", "crown", "right foot"),
    Arc: ("left foot", "crown", "right foot"),
    Bent: ("foot", "end"),
}
_CORNER = re.compile(r"corner [1-9]\d?")

_STEPS = ("next", "previous")


@dataclass(frozen=True)
class Copy:
    """One member of an entry's pattern; ``following`` and ``preceding`` are its neighbours' places in it."""

    member: Member
    following: int | None
    preceding: int | None
    is_first: bool
    is_last: bool


@dataclass(frozen=True)
class Stand:
    """All members that stand, by entry and by full name."""

    entries: Mapping[str, tuple[Copy, ...]]
    members: Mapping[str, Member]
    unread: frozenset[str]
    """Names of entries that had problems of their own."""
    has_nameless: bool
    """Whether an entry could not even be named: then no name can be called unknown."""

    def may_exist(self, name: str) -> bool:
        """Return whether the name could belong to an entry that couldn't be read."""
        return self.has_nameless or any(name == other or name.startswith(f"{other} ") for other in self.unread)


def points_of(shape: Shape) -> tuple[str, ...]:
    """Return the names of a shape's points, in the order of its path."""
    names = _POINTS[type(shape)]
    if isinstance(shape, Bent):
        return (names[0], *(f"corner {number}" for number in range(1, len(shape.radii) + 1)), names[1])
    return names


def _is_point(text: str) -> bool:
    """Return whether some shape could have a point of this name."""
    return any(text in names for names in _POINTS.values()) or _CORNER.fullmatch(text) is not None


def find_anchor(text: str, own: Copy | None, entry: tuple[Copy, ...], stand: Stand) -> Anchor | Problem | None:
    """Return the point that ``text`` names, the problem with it, or ``None`` when an unread entry may hold it.

    Parameters
    ----------
    text
        "crown", "next crown", "previous crown" (of the circuit's own member and its neighbours), or a
        member's full name and its point, "arch 2 crown".
    own, entry
        The circuit's own member and all members of its pattern; ``None`` and empty without ``each``.
    """
    word, _, rest = text.partition(" ")
    if _is_point(text) or (word in _STEPS and _is_point(rest)):
        if own is None:
            return _each_missing(text, stand)
        if _is_point(text):
            return _point(own.member, text, text)
        index = own.following if word == "next" else own.preceding
        if index is None:
            return _no_neighbour(text, word, own)
        return _point(entry[index].member, rest, text)
    for name in sorted(stand.members, key=len, reverse=True):
        if text.startswith(f"{name} "):
            return _point(stand.members[name], text[len(name) + 1 :], text)
    if stand.may_exist(text):
        return None
    return _unknown_point(text, own, stand)


def _point(member: Member, point: str, text: str) -> Anchor | Problem:
    points = points_of(member.shape)
    if point in points:
        return Anchor(member, point)
    return Problem(
        code="PIECE-012",
        summary=f'"{member.name}" has no point "{point}"',
        found=f'"{text}"',
        allowed=quoted_list(points),
        do=did_you_mean(point, points, "name one of the points allowed"),
    )


def _unknown_point(text: str, own: Copy | None, stand: Stand) -> Problem:
    full = [f"{name} {point}" for name, member in stand.members.items() for point in points_of(member.shape)]
    example = "a member's full name and its point" + (f', such as "{full[0]}"' if full else "")
    near: list[str] = []
    allowed = example
    if own is not None:
        points = points_of(own.member.shape)
        near = [*points, *(f"{step} {point}" for step in _STEPS for point in points)]
        allowed = f'{quoted_list(points)}, the same after "next" or "previous", or {example}'
    return Problem(
        code="PIECE-012",
        summary=f'"{text}" is not a point of any member',
        found=f'"{text}"',
        allowed=allowed,
        do=did_you_mean(text, [*near, *full], "name a point as allowed"),
    )


def _each_missing(text: str, stand: Stand) -> Problem:
    full = next((f"{name} {points_of(member.shape)[0]}" for name, member in stand.members.items()), "arch 1 crown")
    return Problem(
        code="PIECE-022",
        summary=f'"{text}" needs a member of the circuit\'s own, and this circuit has no "each"',
        found=f'"{text}"',
        allowed=f'a member\'s full name and its point, such as "{full}"',
        do='name the member too, or give the circuit each = "..."',
    )


def _no_neighbour(text: str, word: str, own: Copy) -> Problem:
    side = "last" if word == "next" else "first"
    return Problem(
        code="PIECE-013",
        summary=f'"{own.member.name}" has no {word} member',
        found=f'"{text}"',
        allowed=f"a {word} member for every circuit that has this run",
        do=f'write skip = "{side}" in this run, so that the {side} circuit goes without it',
    )
