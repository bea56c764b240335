"""Problems of a look that show only when its numbers are fitted to the chip."""

from __future__ import annotations

from lampwright.look.graph import Node
from lampwright.units.errors import Problem


def too_wide(node: Node, interval: tuple[float, float]) -> Problem:
    """Return the problem of a value that no 32 bits hold."""
    return Problem(
        "LOOK-006",
        "this value grows too large for the chip",
        f"{interval[0]:.6g} to {interval[1]:.6g}",
        "values that 32 bits hold with the precision needed, such as -30000 to 30000",
        "divide by something, or take fraction() or clamp() of it earlier",
        node.place,
    )


def too_fine(node: Node, value: float) -> Problem:
    """Return the problem of a number that would round to zero."""
    return Problem(
        "LOOK-007",
        "this value is too small for the chip to tell from zero",
        f"{value:.3g}",
        "values of 0.001 or more where they meet others near 1",
        "leave it out, or multiply by it later",
        node.place,
    )
