"""What findings on power share: their basis (which formula, from which figures), and how they say a duration."""

from __future__ import annotations

import math

from lampwright.parts.model import Figure
from lampwright.piece.model import Circuit
from lampwright.units import format_quantity


def basis(formula: str, **figures: Figure) -> str:
    """Return where a finding comes from: the formula, then each input with its status."""
    inputs = [f"{name} {figure.text} ({figure.status.value})" for name, figure in figures.items()]
    return f"{formula}; {', '.join(inputs)}".replace("_", " ")


def draw_basis(circuit: Circuit, **more: Figure) -> str:
    """Return the basis of a draw, with more figures that a finding rests on."""
    strip = circuit.strip
    return basis(
        "board + pixels × quiescent + codes / 255 × channel current, every frame",
        board=circuit.board.current,
        quiescent=strip.quiescent_current,
        red=strip.red_current,
        green=strip.green_current,
        blue=strip.blue_current,
        **more,
    )


def duration(seconds: float) -> str:
    """Return a duration, rounded down to whole seconds, from one hour on to whole minutes."""
    step = 60 if seconds >= 3600 else 1
    return format_quantity(math.floor(seconds / step + 1e-9) * step, "time")
