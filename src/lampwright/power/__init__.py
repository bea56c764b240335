"""Judge power, rails and board: in come a circuit's layout, its show and its frames, out go findings.

:func:`frame_currents` measures frames block by block, :func:`gather` makes a :class:`Draw` of them;
:func:`ready_rails` makes a circuit's wiring ready, :func:`rail_part` solves it for every frame of a block,
:func:`gather_rails` makes a :class:`RailDraw`; :func:`check_power`, :func:`check_rails` and :func:`check_board` turn
figures into findings.
"""

from lampwright.power.board import check_board
from lampwright.power.check import check_power
from lampwright.power.draw import Draw, FrameCurrents, frame_currents, gather, n_frame_to_measure
from lampwright.power.rail_check import check_rails
from lampwright.power.rail_draw import RailDraw, RailPart, gather_rails, join_rails, rail_part, ready_rails
from lampwright.power.solve import Rails

__all__ = [
    "Draw",
    "FrameCurrents",
    "RailDraw",
    "RailPart",
    "Rails",
    "check_board",
    "check_power",
    "check_rails",
    "frame_currents",
    "gather",
    "gather_rails",
    "join_rails",
    "n_frame_to_measure",
    "rail_part",
    "ready_rails",
]
