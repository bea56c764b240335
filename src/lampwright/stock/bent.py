"""Bent tube on the shelf: straight lengths with bends between them, and for what it can be cut down.

Bends lie in planes of their own: ``turned`` says by how much each plane is turned about the tube against that of the
bend before it, so that a tube and its mirror image aren't taken for each other.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace

from lampwright.units import MakerError, Problem, UnitError, format_quantity, parse

NEAR_LENGTH = 0.005
"""Radii and lengths between bends that differ by no more count as alike (our choice). [m]"""
NEAR_ANGLE = math.radians(1.0)
"""Angles that differ by no more count as alike (our choice). [rad]"""

CODE = "STOCK-005"
ALLOWED = 'lengths and bends in turn, such as "1.4 m, 180 deg at 1.2 m, 1.4 m"'

_BEND = re.compile(r"(?P<angle>.+?)\s+at\s+(?P<radius>.+?)(?:\s+turned\s+(?P<turned>.+))?")


@dataclass(frozen=True)
class Bend:
    """One bend of a tube."""

    radius: float
    """Of the centre line; 0 for a joint at an angle. [m]"""
    angle: float
    """By which the tube turns, more than 0. [rad]"""
    turned: float = 0.0
    """Of its plane against that of the bend before: pi where it bends back. From -pi to pi. [rad]"""


@dataclass(frozen=True)
class BentTube:
    """A tube with at least one bend.

    Parameters
    ----------
    legs : (n + 1,) float
        Straight lengths, from one end to the other; 0 where there is none. [m]
    bends : (n,) Bend
    """

    legs: tuple[float, ...]
    bends: tuple[Bend, ...]

    @property
    def length(self) -> float:
        """Along the centre line. [m]"""
        return sum(self.legs) + sum(bend.radius * bend.angle for bend in self.bends)

    @property
    def text(self) -> str:
        """As a maker writes it: "1.4 m, 180 deg at 1.2 m, 1.4 m"."""
        said = [format_quantity(self.legs[0], "length", 4)]
        for bend, leg in zip(self.bends, self.legs[1:], strict=True):
            angle, radius = format_quantity(bend.angle, "angle", 4), format_quantity(bend.radius, "length", 4)
            turned = f" turned {format_quantity(bend.turned, 'angle', 4)}" if abs(bend.turned) > NEAR_ANGLE else ""
            said += [f"{angle} at {radius}{turned}", format_quantity(leg, "length", 4)]
        return ", ".join(said)

    def turned_round(self) -> BentTube:
        """Return the same tube, told from its other end."""
        twists = [bend.turned for bend in self.bends[1:]]
        bends = zip(reversed(self.bends), [0.0, *reversed(twists)], strict=True)
        return BentTube(self.legs[::-1], tuple(Bend(bend.radius, bend.angle, turned) for bend, turned in bends))

    def without_end(self, is_last: bool) -> BentTube:
        """Return what is left once its first or its last leg is sawn off."""
        return replace(self, legs=(*self.legs[:-1], 0.0) if is_last else (0.0, *self.legs[1:]))

    def cut_down_to(self, wanted: BentTube) -> tuple[float, float] | None:
        """Return what to cut off its first and its last leg to make it another; ``None`` where that can't be. [m]"""
        for own in (self, self.turned_round()):
            if own._has_the_bends_of(wanted):
                first, last = own.legs[0] - wanted.legs[0], own.legs[-1] - wanted.legs[-1]
                if min(first, last) >= -NEAR_LENGTH:
                    return max(0.0, first), max(0.0, last)
        return None

    def _has_the_bends_of(self, wanted: BentTube) -> bool:
        return (
            len(self.bends) == len(wanted.bends)
            and all(abs(a - b) <= NEAR_LENGTH for a, b in zip(self.legs[1:-1], wanted.legs[1:-1], strict=True))
            and all(
                abs(own.radius - other.radius) <= NEAR_LENGTH
                and abs(own.angle - other.angle) <= NEAR_ANGLE
                # the first bend has none before it to be turned against
                and (number == 0 or _apart(own.turned, other.turned) <= NEAR_ANGLE)
                for number, (own, other) in enumerate(zip(self.bends, wanted.bends, strict=True))
            )
        )


def bent_from_text(text: str) -> BentTube:
    """Return the tube that a maker describes, as :attr:`BentTube.text` says it.

    Raises
    ------
    MakerError
        STOCK-005 with what can't be read.
    """
    parts = [part.strip() for part in text.split(",")]
    if len(parts) < 3 or len(parts) % 2 == 0:
        do = "begin and end with a length, 0 m where there is none, with a bend between each two"
        raise MakerError([_unread(text, do)])
    try:
        legs = tuple(parse(part, "length") for part in parts[::2])
        bends = tuple(_bend(part) for part in parts[1::2])
    except UnitError as error:
        raise MakerError([_unread(error.problem.found.strip('"'), error.problem.do)]) from error
    if min(legs) < 0:
        raise MakerError([_unread(text, "write no length below 0 m")])
    return BentTube(legs, (Bend(bends[0].radius, bends[0].angle), *bends[1:]))


def _bend(text: str) -> Bend:
    found = _BEND.fullmatch(text)
    if found is None:
        raise MakerError([_unread(text, 'write the angle and the radius, such as "90 deg at 15 cm"')])
    angle, radius = parse(found["angle"], "angle"), parse(found["radius"], "length")
    turned = parse(found["turned"], "angle") if found["turned"] else 0.0
    if not 0 < angle <= 2 * math.pi or radius < 0 or abs(turned) > math.pi + 1e-9:
        raise MakerError([_unread(text, "an angle of more than 0 and at most 360 deg, at a radius of 0 m or more")])
    return Bend(radius, angle, turned)


def _unread(found: str, do: str) -> Problem:
    return Problem(CODE, "this is no bent tube", f'"{found}"', ALLOWED, do)


def _apart(one: float, other: float) -> float:
    """Return the angle between two directions. [rad]"""
    return abs(math.remainder(one - other, 2 * math.pi))
