"""How much RAM a circuit's firmware needs, before it is built."""

from __future__ import annotations

from lampwright.parts.model import Board

BYTES_PER_PIXEL = 3
"""One byte each for red, green and blue."""

FIXED_BYTES = 32
"""The firmware's own variables: two kept clock slots, reset cause, pacing; rounded up. The
built binary's true figure is in its RAM map, and a test holds this above it."""


def ram_needed(n_pixel: int, board: Board) -> int:
    """Return the RAM for a frame buffer, the firmware's variables and the stack. [byte]

    Source
    ------
    Buffer: 3 bytes a pixel, the line's 24 bits (WS2812B datasheet). Stack reserve: the
    board's figure in the catalogue (common practice, no source).
    """
    return BYTES_PER_PIXEL * n_pixel + FIXED_BYTES + round(board.stack_reserve.value)
