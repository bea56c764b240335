"""Judge power and board: in come a circuit's layout, its show and its frames, out go findings.

:class:`DrawMeter` takes frames block by block and gives a :class:`Draw`; :func:`check_power` and
:func:`check_board` turn figures into findings.
"""

from lampwright.power.board import check_board
from lampwright.power.check import check_power
from lampwright.power.draw import Draw, DrawMeter, n_frame_to_measure

__all__ = ["Draw", "DrawMeter", "check_board", "check_power", "n_frame_to_measure"]
