"""Judge power and board: in come a circuit's layout, its show and its frames, out go findings.

:func:`frame_currents` measures frames block by block, :func:`gather` makes a :class:`Draw` of them;
:func:`check_power` and :func:`check_board` turn figures into findings.
"""

from lampwright.power.board import check_board
from lampwright.power.check import check_power
from lampwright.power.draw import Draw, FrameCurrents, frame_currents, gather, n_frame_to_measure

__all__ = [
    "Draw",
    "FrameCurrents",
    "check_board",
    "check_power",
    "frame_currents",
    "gather",
    "n_frame_to_measure",
]
