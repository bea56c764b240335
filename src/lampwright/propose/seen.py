"""What a viewer sees: whether pixels merge to a line, and how the line stands out from its surroundings.

A pixel's luminous intensity comes from the strip's data sheet. Seen from a distance, a line of intensity ``I`` for each
pitch ``p`` has the luminance::

    L = I / (p * w),   w = max(width of a pixel, distance * one minute of arc)

because the eye spreads what is narrower than one minute of arc over that much.

Source
------
Luminance is intensity over area: any text on photometry. One minute of arc is the resolution of an eye of normal
acuity (20/20, 6/6): from memory. Luminance of ground of reflectance ``r`` under illuminance ``E``: ``r E / pi``. The
arithmetic is held against integrals in tests/published.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

from lampwright.parts import Strip

ARC_MINUTE = math.pi / (180 * 60)
"""What an eye of normal acuity tells apart (from memory). [rad]"""

PIXEL_WIDTH = 5e-3
"""Of the light-giving face of a pixel in a 5 mm package. [m]"""


@dataclass(frozen=True)
class Seen:
    """A lit strip as a viewer sees it."""

    apart: float  # angle between neighbouring pixels [rad]
    merges_from: float  # distance beyond which they merge [m]
    per_metre: float  # luminous intensity of a metre of strip, mean over show and pixels [cd/m]
    luminance: float  # [cd/m²]
    contrast: float  # that luminance over the surroundings' [1]

    @property
    def is_line(self) -> bool:
        """Whether pixels merge to a line."""
        return self.apart < ARC_MINUTE


def intensities(strip: Strip) -> tuple[float, float, float]:
    """Return the luminous intensity of a pixel's red, green and blue when full on. [cd]"""
    row = _data()["pixel"].get(strip.pixel, _data()["pixel"]["ws2812b"])
    return (row["red_mcd"] / 1000, row["green_mcd"] / 1000, row["blue_mcd"] / 1000)


def surroundings_luminance(surroundings: str) -> float:
    """Return the luminance of what lies behind the piece. [cd/m²]"""
    row = _data()["surroundings"][surroundings]
    if "luminance" in row:
        return float(row["luminance"])
    return float(row["illuminance"] * row["reflectance"] / math.pi)


def as_seen(strip: Strip, shares: Sequence[float], distance: float, surroundings: str) -> Seen:
    """Return how strip looks whose red, green and blue are on by these shares in the mean, from a distance [m]."""
    pitch = 1 / strip.density.value
    intensity = sum(full * share for full, share in zip(intensities(strip), shares, strict=True))
    width = max(PIXEL_WIDTH, distance * ARC_MINUTE)
    luminance = intensity / (pitch * width)
    return Seen(
        pitch / distance,
        pitch / ARC_MINUTE,
        intensity / pitch,
        luminance,
        luminance / surroundings_luminance(surroundings),
    )


@cache
def _data() -> dict[str, dict[str, dict[str, float]]]:
    text = resources.files("lampwright.propose").joinpath("seen.toml").read_text(encoding="utf-8")
    raw: dict[str, dict[str, dict[str, float]]] = tomllib.loads(text)
    return raw
