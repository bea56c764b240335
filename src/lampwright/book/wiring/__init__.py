"""Wiring drawings: a circuit's layout and harness come in, sheets of SVG go out."""

from lampwright.book.wiring.compose import draw_wiring

__all__ = ["draw_wiring"]
