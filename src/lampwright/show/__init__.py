"""The show: cue sheet and layout come in, every frame of every circuit comes out.

:func:`compile_show` turns a laid-out piece into one :class:`CircuitShow` per circuit, whole
numbers only; :func:`render` draws its frames.
"""

from __future__ import annotations

from lampwright.show.compile import compile_show
from lampwright.show.flash_check import check_flashes
from lampwright.show.flash_view import View, view_piece
from lampwright.show.flashing import Flashing, Screening, gather_flashing
from lampwright.show.levels import check_levels
from lampwright.show.memory import ram_needed
from lampwright.show.model import CircuitShow, CueProgram, Indicator, Limiter
from lampwright.show.render import Block, blocks, frames, frames_at, line_bytes, render
from lampwright.show.sample import Sample, sample
from lampwright.show.unison import Unison, unison

__all__ = [
    "Block",
    "CircuitShow",
    "CueProgram",
    "Flashing",
    "Indicator",
    "Limiter",
    "Sample",
    "Screening",
    "Unison",
    "View",
    "blocks",
    "check_flashes",
    "check_levels",
    "compile_show",
    "frames",
    "frames_at",
    "gather_flashing",
    "line_bytes",
    "ram_needed",
    "render",
    "sample",
    "unison",
    "view_piece",
]
