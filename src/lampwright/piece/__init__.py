"""The piece file: text in, a :class:`Piece` out with its patterns written out, or every problem at its place."""

from lampwright.piece.model import (
    Anchor,
    Brief,
    Circuit,
    Cue,
    Ending,
    FixedSection,
    Hoop,
    Member,
    Piece,
    Run,
    Section,
    ShowSheet,
    SourceMap,
    SpanSection,
    Standby,
    Straight,
    Survive,
)
from lampwright.piece.read import piece_from_text, read_piece
from lampwright.piece.start import write_new

__all__ = [
    "Anchor",
    "Brief",
    "Circuit",
    "Cue",
    "Ending",
    "FixedSection",
    "Hoop",
    "Member",
    "Piece",
    "PowerLoss",
    "Run",
    "Section",
    "ShowSheet",
    "SourceMap",
    "SpanSection",
    "Standby",
    "Straight",
    "Survive",
    "piece_from_text",
    "read_piece",
    "write_new",
]
