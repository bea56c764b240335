"""The basis of a finding: which formula, from which figures, how far to be trusted."""

from __future__ import annotations

from lampwright.parts.model import Figure


def basis(formula: str, **figures: Figure) -> str:
    """Return where a finding comes from: the formula, then each input with its status."""
    inputs = [f"{name} {figure.text} ({figure.status.value})" for name, figure in figures.items()]
    return f"{formula}; {', '.join(inputs)}".replace("_", " ")
