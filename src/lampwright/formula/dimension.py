"""What a quantity is made of: powers of length, mass, time, current, temperature, angle and memory.

Source: BIPM, The International System of Units, 9th edition, tables 2 to 6 (from memory). An angle is kept apart from
plain numbers, so that "10" is not taken for ten radians.
"""

from __future__ import annotations

from lampwright.units import Kind, unit_table

Dimension = tuple[int, int, int, int, int, int, int]
"""Powers of m, kg, s, A, K, an angle and a byte."""

_BASES = ("m", "kg", "s", "A", "K", "rad", "byte")

NUMBER: Dimension = (0, 0, 0, 0, 0, 0, 0)
LENGTH: Dimension = (1, 0, 0, 0, 0, 0, 0)
TEMPERATURE: Dimension = (0, 0, 0, 0, 1, 0, 0)
ANGLE: Dimension = (0, 0, 0, 0, 0, 1, 0)

KIND_DIMENSIONS: dict[Kind, Dimension] = {
    "length": LENGTH,
    "density": (-1, 0, 0, 0, 0, 0, 0),
    "time": (0, 0, 1, 0, 0, 0, 0),
    "charge": (0, 0, 1, 1, 0, 0, 0),
    "current": (0, 0, 0, 1, 0, 0, 0),
    "voltage": (2, 1, -3, -1, 0, 0, 0),
    "resistance": (2, 1, -3, -2, 0, 0, 0),
    "linear resistance": (1, 1, -3, -2, 0, 0, 0),
    "capacitance": (-2, -1, 4, 2, 0, 0, 0),
    "mass": (0, 1, 0, 0, 0, 0, 0),
    "linear mass": (-1, 1, 0, 0, 0, 0, 0),
    "temperature": TEMPERATURE,
    "speed": (1, 0, -1, 0, 0, 0, 0),
    "share": NUMBER,
    "rate": (0, 0, -1, 0, 0, 0, 0),
    "angle": ANGLE,
    "power": (2, 1, -3, 0, 0, 0, 0),
    "energy": (2, 1, -2, 0, 0, 0, 0),
    "area": (2, 0, 0, 0, 0, 0, 0),
    "frequency": (0, 0, -1, 0, 0, 0, 0),
    "memory": (0, 0, 0, 0, 0, 0, 1),
    "force": (1, 1, -2, 0, 0, 0, 0),
    "pressure": (-1, 1, -2, 0, 0, 0, 0),
}


def times(one: Dimension, other: Dimension, power: int = 1) -> Dimension:
    """Return the dimension of ``one * other ** power``."""
    length, mass, time, current, temperature, angle, memory = (a + power * b for a, b in zip(one, other, strict=True))
    return length, mass, time, current, temperature, angle, memory


def kind_of(dimension: Dimension) -> Kind | None:
    """Return the first kind of quantity with this dimension, or ``None``."""
    return next((kind for kind, own in KIND_DIMENSIONS.items() if own == dimension), None)


def phrase_of(dimension: Dimension) -> str:
    """Return how a quantity of this dimension is spoken of, such as "a length"."""
    if dimension == NUMBER:
        return "a number without a unit"
    kind = kind_of(dimension)
    if kind is not None:
        return unit_table().kinds[kind].phrase
    powers = [f"{base}{power if power != 1 else ''}" for base, power in zip(_BASES, dimension, strict=True) if power]
    return "a quantity in " + " ".join(powers)
