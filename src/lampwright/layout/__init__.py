"""Lay a piece out: in comes a :class:`~lampwright.piece.model.Piece`, out goes the place of every pixel."""

from lampwright.layout.bent_tube import bent_tube
from lampwright.layout.check import check_layout
from lampwright.layout.model import CircuitLayout, Layout, RunLayout, SectionLayout
from lampwright.layout.place import lay_out
from lampwright.layout.table import write_places

__all__ = [
    "CircuitLayout",
    "Layout",
    "RunLayout",
    "SectionLayout",
    "bent_tube",
    "check_layout",
    "lay_out",
    "write_places",
]
