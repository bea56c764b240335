"""What holds a piece up, as far as the brief leaves it open: tube, bases, and what carries a garland."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from lampwright.parts import CableTie, Cord, Tube
from lampwright.piece.model import Base, Member
from lampwright.units import format_quantity

HEADER = re.compile(r"^\s*\[\[\s*member\s*\]\]")
"""The line with which a member of a brief begins."""

NAME = re.compile(r"^\s*name\s*=")

BRIEF_HEADER = re.compile(r"^\s*\[\s*brief\s*\]")


@dataclass(frozen=True)
class OpenMember:
    """A ``[[member]]`` entry of a brief, and what it leaves open."""

    number: int
    """Of its entry in the file, from 0."""
    name: str
    has_tube: bool
    has_foot: bool
    """Whether it states a base or a socket."""
    shape: str = "straight"

    @property
    def upper_point(self) -> str:
        """The point from which a garland goes to the next one, where the brief doesn't say."""
        return {"hoop": "crown", "arc": "crown", "bent": "end"}.get(self.shape, "top")

    def owns(self, member: Member) -> bool:
        """Return whether a member of the piece was written out from this entry."""
        return member.name in (self.name, f"{self.name} {member.name.rpartition(' ')[2]}")


@dataclass(frozen=True)
class Footing:
    """What was chosen for one entry; ``None``: as the brief has it."""

    member: OpenMember
    tube: Tube | None
    base: Base | None


@dataclass(frozen=True)
class Hanging:
    """What carries the spans of a garland."""

    carrier: Cord
    weak_link: float  # [N]
    tie: CableTie
    count: int
    """Ties at each end."""
    slack: float
    """Share by which the strip is to be longer than its carrier. [1]"""


@dataclass(frozen=True)
class Rig:
    """Everything that was chosen to hold a piece up."""

    footings: tuple[Footing, ...] = ()
    hanging: Hanging | None = None

    @property
    def title(self) -> str:
        """What it is made of, in a few words; empty: all as the brief has it."""
        found = [each.tube.name for each in self.footings if each.tube is not None]
        found += [f"{_kilograms(each.base)} a foot" for each in self.footings if each.base is not None]
        found += [self.hanging.carrier.name] if self.hanging is not None else []
        return ", ".join(dict.fromkeys(found))


AS_STATED = Rig()


def head_with(head: str, rig: Rig, gusts: str, tug: float | None) -> str:
    """Return a brief's text with a rig's tubes and bases written into its members; ``gusts`` is what they bear.

    ``tug`` is a crowd's pull to be written into the brief, if it is. [N]
    """
    lines = head.split("\n")
    headers = [number for number, line in enumerate(lines) if HEADER.match(line)]
    for footing in sorted(rig.footings, key=lambda each: -each.member.number):
        at = headers[footing.member.number] + 1
        at += at < len(lines) and NAME.match(lines[at]) is not None  # what it is called stays first
        lines[at:at] = _footing_lines(footing, gusts)
    if tug is not None:
        at = next(number for number, line in enumerate(lines) if BRIEF_HEADER.match(line)) + 1
        lines.insert(at, f'tug = "{tug:g} N"  # proposed: what people pull with where the crowd comes so near')
    return "\n".join(lines)


def _footing_lines(footing: Footing, gusts: str) -> list[str]:
    lines = []
    if footing.tube is not None:
        lines.append(f'tube = "{footing.tube.name}"  # proposed: bends and sways little enough in {gusts}')
    if footing.base is not None:
        base = footing.base
        table = f'mass = "{_kilograms(base)}", reach = "{round(base.reach, 4):g} m", legs = {base.legs}'
        lines.append(f"base = {{ {table} }}  # proposed: at each foot, neither tips nor slides in {gusts}")
    return lines


def hanging_values(hanging: Hanging | None) -> Mapping[str, str]:
    """Return what carries a garland by the keys of its section, each value with its reason."""
    if hanging is None:
        return {}
    strip = f"{1000 * (1 + hanging.slack):.0f} mm"
    link = format_quantity(hanging.weak_link, "force", 4)
    return {
        "carrier": f'"{hanging.carrier.name}"  # a metre of it takes {strip} of strip, so that the strip never holds',
        "weak_link": f'"{link}"  # lets go before a member or the cord gives way',
        "fixing": f'{{ tie = "{hanging.tie.name}", count = {hanging.count} }}  # at each end, outlasts the link',
    }


def _kilograms(base: Base) -> str:
    return f"{round(base.mass, 3):g} kg"
