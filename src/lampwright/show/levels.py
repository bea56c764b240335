"""How many steps of light a show has to work with."""

from __future__ import annotations

from lampwright.findings.model import Finding, Severity
from lampwright.piece.model import Piece

FEW_LEVELS = 32
"""Fewer steps than this are seen in a slow fade (common practice, no source)."""

DITHER_STEPS = 4
"""Steps that dithering makes of one: it spreads them over four frames."""


def check_levels(piece: Piece) -> Finding:
    """Return how many distinct levels a channel has under the show's brightness.

    Source
    ------
    A pixel takes codes 0 to 255 (WS2812B datasheet, 24-bit data); brightness leaves its share of them.
    """
    sheet = piece.show
    plain = round(255 * sheet.brightness)
    levels = plain * DITHER_STEPS if sheet.is_dithered else plain
    made = f"{plain} codes, each in {DITHER_STEPS} steps" if sheet.is_dithered else f"{plain} codes"
    summary = f"levels a channel has between dark and brightest: {made}"
    is_few = levels < FEW_LEVELS
    do = 'write steps = "dithered" in [show]: it makes four levels of one' if is_few and not sheet.is_dithered else ""
    if is_few and sheet.is_dithered:
        do = "raise the brightness: with so few levels slow changes are seen to step"
    return Finding(
        "SHOW-004",
        Severity.NOTE if is_few else Severity.PASS,
        piece.brief.name,
        summary,
        f"{levels} levels",
        f"at least {FEW_LEVELS}",
        levels / FEW_LEVELS - 1,
        do,
        "codes 0 to 255; few levels: common practice, no source",
    )
