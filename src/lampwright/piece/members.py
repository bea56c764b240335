"""Members as they stand: their shapes, what they are made of, and where they are."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from lampwright.parts.model import Tube
from lampwright.piece.rounded import Point, RoundedLine, rounded_line
from lampwright.units.errors import Place


@dataclass(frozen=True)
class Straight:
    """Straight member; ``lean`` is its tilt from the vertical, toward its own x axis."""

    length: float  # [m]
    lean: float  # [rad]


@dataclass(frozen=True)
class Hoop:
    """Two upright legs joined by a half circle, in the member's own x-z plane."""

    width: float  # between the feet, centre to centre [m]
    height: float  # ground to crown [m]


@dataclass(frozen=True)
class Staff(Straight):
    """Straight member that a person carries upright or leaning; nothing of it stands on the ground."""

    grip: float  # from its foot to the hand [m]


@dataclass(frozen=True)
class Arc:
    """A part of a circle from foot to foot, in the member's own x-z plane, or leaning out of it toward its y axis."""

    chord: float  # between the feet; 0 for a whole circle [m]
    rise: float  # from the line between the feet to the crown [m]
    lean: float  # of its plane from the vertical [rad]

    @property
    def radius(self) -> float:
        """Of the circle, ``(c²/4 + h²) / 2h``. [m]"""
        return (self.chord**2 / 4 + self.rise**2) / (2 * self.rise)

    @property
    def sweep(self) -> float:
        """The angle between its feet, seen from the circle's middle. [rad]"""
        return 4 * math.atan2(2 * self.rise, self.chord)


@dataclass(frozen=True)
class Bent:
    """Tube through points, its corners bent; the points are in the member's own axes."""

    points: tuple[Point, ...]  # [m]
    radii: tuple[float, ...]  # one for each corner [m]

    @property
    def line(self) -> RoundedLine:
        """Its centre line."""
        return rounded_line(self.points, self.radii)


Shape = Straight | Hoop | Arc | Bent


@dataclass(frozen=True)
class Base:
    """Something heavy that a member stands on, on legs that reach out evenly around it; a hoop has two of them."""

    mass: float  # [kg]
    reach: float  # from the member to the end of a leg [m]
    legs: int


@dataclass(frozen=True)
class Support:
    """What a member is made of and what it stands in, as far as the maker says."""

    tube: Tube | None = None
    socket: float | None = None
    """How deep the tube sits in what holds it. [m]"""
    base: Base | None = None


@dataclass(frozen=True)
class Member:
    """Something rigid that carries pixels, standing at its place."""

    name: str
    shape: Shape
    position: tuple[float, float, float]  # of its foot, the middle between its feet, or its own axes' origin (bent) [m]
    turn: float  # about the vertical, anticlockwise seen from above [rad]
    support: Support = Support()
    place: Place | None = field(default=None, compare=False)
    """Where in the piece file its entry stands."""
