"""Colours as authors give them, turned into linear light, and light as a screen shows it."""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

_HEX = re.compile(r"#([0-9a-fA-F]{2})([0-9a-fA-F]{2})([0-9a-fA-F]{2})")


def srgb_to_linear(share: float) -> float:
    """Return the linear light of an sRGB component, both 0 to 1.

    Source
    ------
    IEC 61966-2-1:1999, transfer function, with the threshold 0.04045.
    """
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


def linear_to_screen(linear: NDArray[np.float64]) -> NDArray[np.uint8]:
    """Return linear light, cut to 0 to 1, as the bytes by which a screen shows it.

    Source
    ------
    IEC 61966-2-1:1999, transfer function, with the threshold 0.0031308.
    """
    held = np.clip(linear, 0.0, 1.0)
    shown = np.where(held <= 0.0031308, 12.92 * held, 1.055 * held ** (1 / 2.4) - 0.055)
    screen: NDArray[np.uint8] = (shown * 255).round().astype(np.uint8)
    return screen


def hex_to_linear(text: str) -> tuple[float, float, float] | None:
    """Return linear red, green, blue (0 to 1) of a hex colour as seen on a screen, or ``None``.

    Pixels drive their light by pulse width, so a code is a share of light; a colour
    picked on a screen has to be decoded before it means the same.
    """
    match = _HEX.fullmatch(text)
    if match is None:
        return None
    red, green, blue = (srgb_to_linear(int(part, 16) / 255) for part in match.groups())
    return red, green, blue


COLDEST_KELVIN, HOTTEST_KELVIN = 1700.0, 20_000.0
"""Colour temperatures that :func:`kelvin_to_linear` takes. [K]"""


def kelvin_to_linear(temperature: float) -> tuple[float, float, float]:
    """Return linear red, green, blue of a black body's light, the largest being 1.

    Source
    ------
    Chromaticity of the Planckian locus by cubic splines, Kim et al. 2002 (from memory); CIE XYZ
    to linear sRGB, IEC 61966-2-1:1999. Light outside the sRGB triangle is cut to its edge.
    Valid for: 1667 to 25,000 K.
    """
    x, y = planckian_chromaticity(temperature)
    big_x, big_z = x / y, (1 - x - y) / y
    red = 3.2406 * big_x - 1.5372 - 0.4986 * big_z
    green = -0.9689 * big_x + 1.8758 + 0.0415 * big_z
    blue = 0.0557 * big_x - 0.2040 + 1.0570 * big_z
    most = max(red, green, blue)
    return max(0.0, red) / most, max(0.0, green) / most, max(0.0, blue) / most


def planckian_chromaticity(temperature: float) -> tuple[float, float]:
    """Return CIE 1931 x, y of a black body. Source: Kim et al. 2002 (from memory)."""
    k = 1000 / temperature
    if temperature <= 4000:
        x = ((-0.2661239 * k - 0.2343589) * k + 0.8776956) * k + 0.179910
    else:
        x = ((-3.0258469 * k + 2.1070379) * k + 0.2226347) * k + 0.240390
    if temperature <= 2222:
        y = ((-1.1063814 * x - 1.34811020) * x + 2.18555832) * x - 0.20219683
    elif temperature <= 4000:
        y = ((-0.9549476 * x - 1.37418593) * x + 2.09137015) * x - 0.16748867
    else:
        y = ((3.0817580 * x - 5.87338670) * x + 3.75112997) * x - 0.37001483
    return x, y
