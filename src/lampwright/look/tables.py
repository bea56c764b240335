"""Fixed tables that looks compute with, the same on every back-end.

A curve is kept as 256 values with 13 binary places and the steps between them, so that
the chip can draw a straight line between two neighbours with one 8-bit multiplication.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, cached_property, partial

import numpy as np
from numpy.typing import NDArray

CURVE_PLACES = 13
"""Binary places of a curve's values: the steep parts of a sine still step less than 128."""


@dataclass(frozen=True, eq=False)
class Table:
    """Whole numbers in flash. ``values`` has one dimension and the narrowest type that holds it."""

    name: str
    values: NDArray[np.int64]
    comment: str

    @cached_property
    def fast(self) -> NDArray[np.signedinteger]:
        """The values in 32 bits where they fit, which numpy reads faster."""
        fits = -(1 << 31) <= self.lowest <= self.highest < 1 << 31
        return self.values.astype(np.int32) if fits else self.values

    @property
    def lowest(self) -> int:
        """Smallest entry."""
        return int(self.values.min())

    @property
    def highest(self) -> int:
        """Largest entry."""
        return int(self.values.max())


@dataclass(frozen=True, eq=False)
class Curve:
    """A curve over one turn: 256 values and the step from each to the next."""

    values: Table
    steps: Table
    lowest: int
    highest: int

    def at(self, phase: NDArray[np.int64]) -> NDArray[np.int64]:
        """Return the curve at ``phase`` (0 to 65535), 13 binary places, straight between values."""
        index = phase >> 8
        whole: NDArray[np.int64] = self.values.fast.take(index) + ((self.steps.fast.take(index) * (phase & 255)) >> 8)
        return whole


def curve(name: str, comment: str, formula: Callable[[float], float], *, is_closed: bool) -> Curve:
    """Return a curve from ``formula`` over 0 to 1; a closed one returns to its start at 1.

    A step steeper than 127 is cut to it, so that a jump takes a few steps instead of one.
    """
    scale = 1 << CURVE_PLACES
    values = np.array([round(formula(i / 256) * scale) for i in range(256)], dtype=np.int64)
    end = values[0] if is_closed else round(formula(1.0) * scale)
    steps = np.clip(np.diff(np.append(values, end)), -128, 127)
    raw = Curve(Table(name, values, comment), Table(name + "_steps", steps, "step to the next value"), 0, 0)
    every = raw.at(np.arange(65536, dtype=np.int64))
    return Curve(raw.values, raw.steps, int(every.min()), int(every.max()))


def _seen(lightness: float) -> float:
    """Return the relative luminance of a CIE 1976 lightness, both 0 to 1.

    Source: ISO/CIE 11664-4, L* = 116 (Y/Yn)^(1/3) - 16, and L* = 903.3 Y/Yn near black.
    """
    share = lightness * 100
    return float(share / 903.2963 if share <= 8 else ((share + 16) / 116) ** 3)


def _wheel(place: int, turn: float) -> float:
    """Return a channel's share at a turn of the wheel: 1 at its own third, 0 at both others.

    The three shares always add up to 1, so that the current stays the same all around.
    """
    away = abs((turn - place / 3 + 0.5) % 1 - 0.5)
    return max(0.0, 1 - 3 * away)


def _permutation() -> NDArray[np.int64]:
    """Return 0 to 255 in a fixed shuffled order.

    A Fisher-Yates shuffle driven by the 32-bit linear congruential generator
    x = 1664525 x + 1013904223 (Numerical Recipes, 2nd edition, section 7.1; from memory).
    """
    order = list(range(256))
    state = 20_26
    for last in range(255, 0, -1):
        state = (1664525 * state + 1013904223) % (1 << 32)
        other = (state >> 16) % (last + 1)
        order[last], order[other] = order[other], order[last]
    return np.array(order, dtype=np.int64)


def _ease(t: float) -> float:
    return t * t * (3 - 2 * t)


SINE = curve("sine", "sine over one turn", lambda t: math.sin(2 * math.pi * t), is_closed=True)
SWELL = curve(
    "swell",
    "from 0 to 1 and back over one turn",
    lambda t: (1 - math.cos(2 * math.pi * t)) / 2,
    is_closed=True,
)
EASE = curve("ease", "from 0 to 1 with level ends", _ease, is_closed=False)
SEEN = curve("seen", "light that an eye judges to be so bright", _seen, is_closed=False)
WHEEL = tuple(
    curve(f"wheel_{name}", f"{name} around the wheel of colours", partial(_wheel, place), is_closed=True)
    for place, name in enumerate(("red", "green", "blue"))
)
SHUFFLE = Table(
    "shuffle",
    np.append(_permutation(), _permutation()[:1]),
    "0 to 255 in a fixed shuffled order, and the first once more",
)
BLEND = Table(
    "blend",
    np.array([round(255 * _ease(i / 256)) for i in range(256)], dtype=np.int64),
    "weight of the next lattice point, with level ends",
)


@cache
def pulse(attack: float, decay: float) -> Curve:
    """Return a curve that rises over ``attack`` of a turn and falls over ``decay``, then rests at 0."""

    def formula(t: float) -> float:
        if t < attack:
            return _ease(t / attack)
        return 1 - _ease(min(1.0, (t - attack) / decay))

    percent = f"{attack * 100:.0f}_{decay * 100:.0f}"
    return curve(f"pulse_{percent}", "a rise and a fall within one turn", formula, is_closed=True)


MOMENT_STEP = 40_503
"""Odd, near 65536 times the golden ratio: how far one moment moves a pixel along the scrambled numbers."""


def scramble(value: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return 16 bits that look unrelated to the 16 bits of ``value``; one to one.

    Xor with the own high byte and multiplication by an odd number, twice: each step can
    be undone, so no two inputs share a result.
    """
    value = value ^ (value >> 8)
    value = (value * 0x9E3B) & 0xFFFF
    value = value ^ (value >> 8)
    value = (value * 0x6A8D) & 0xFFFF
    return value ^ (value >> 8)


def dice(n_pixel: int, circuit: int, salt: int) -> NDArray[np.int64]:
    """Return 16 steady random bits for each pixel, other ones for each circuit and salt."""
    pixel = np.arange(n_pixel, dtype=np.int64)
    value = scramble((pixel + 0x51ED * (circuit + 1)) & 0xFFFF)
    return scramble(value ^ scramble(np.array([(salt * 0x2F6B + 77) & 0xFFFF], dtype=np.int64))[0])
