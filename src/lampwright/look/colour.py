"""Colours as authors give them, turned into linear light."""

from __future__ import annotations

import re

_HEX = re.compile(r"#([0-9a-fA-F]{2})([0-9a-fA-F]{2})([0-9a-fA-F]{2})")


def srgb_to_linear(share: float) -> float:
    """Return the linear light of an sRGB component, both 0 to 1.

    Source
    ------
    IEC 61966-2-1:1999, transfer function, with the threshold 0.04045.
    """
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


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
