"""Drawings to scale: a :class:`~lampwright.layout.model.Layout` comes in, sheets of SVG go out, or a PDF of them."""

from lampwright.book.drawing.compose import draw_piece, drawing_pdf
from lampwright.book.drawing.sheet import PAPERS, Paper

__all__ = ["PAPERS", "Paper", "draw_piece", "drawing_pdf"]
