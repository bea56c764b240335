"""Drawings of a piece to scale: a :class:`~lampwright.layout.model.Layout` comes in, sheets of SVG go out."""

from lampwright.book.drawing.compose import draw_piece
from lampwright.book.drawing.sheet import PAPERS, Paper

__all__ = ["PAPERS", "Paper", "draw_piece"]
