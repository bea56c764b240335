"""Whether a show fits the chip's memory and counters, asked before anything is written."""

from __future__ import annotations

from lampwright.parts.model import Board
from lampwright.show.memory import BYTES_PER_PIXEL, FIXED_BYTES, ram_needed
from lampwright.show.model import CircuitShow
from lampwright.units.errors import MakerError, Problem

_LONGEST_FADE = 1 << 24
"""A fade's share is t × 256 / length in 32 bits. [frame]"""
_LONGEST_PASS = 1 << 31
"""Frame numbers have 32 bits. [frame]"""
_LONGEST_STANDBY_MS = (1 << 32) - 60000
"""The minutes left are counted from milliseconds in 32 bits, rounded up. [ms]"""
_MOST_CUES = 255


def check_ram(show: CircuitShow) -> None:
    """Refuse a circuit whose pixels don't fit the board's RAM.

    Raises
    ------
    MakerError
        FIRMWARE-001.
    """
    circuit = show.layout.circuit
    board = circuit.board
    needed, there = ram_needed(show.n_pixel, board), round(board.ram.value)
    if needed > there:
        raise MakerError([too_small(circuit.name, board, show.n_pixel, FIXED_BYTES)])


def too_small(circuit: str, board: Board, n_pixel: int, variables: int) -> Problem:
    """Return the problem of too little RAM; ``variables`` is what isn't frame buffer or stack. [byte]"""
    there, stack = round(board.ram.value), round(board.stack_reserve.value)
    fitting = max(0, there - variables - stack) // BYTES_PER_PIXEL
    return Problem(
        "FIRMWARE-001",
        f'circuit "{circuit}" needs more RAM than its board has',
        f"{BYTES_PER_PIXEL * n_pixel + variables + stack} bytes: {n_pixel} pixels x {BYTES_PER_PIXEL}, "
        f"{variables} for variables, {stack} left free for the stack",
        f'{there} bytes on board "{board.name}", which is {fitting} pixels',
        f"split the circuit so that no board drives more than {fitting} pixels, or choose a board with more RAM",
    )


def check_times(show: CircuitShow) -> None:
    """Refuse a show that runs over the firmware's 32-bit counters.

    Raises
    ------
    MakerError
        FIRMWARE-011, one problem for each time.
    """
    longest_standby = _LONGEST_STANDBY_MS // show.frame_ms
    limits = [("standby", show.standby_frames, longest_standby), ("cue sheet", show.pass_frames, _LONGEST_PASS)]
    limits += [(f"fade of cue {n}", cue.fade, _LONGEST_FADE) for n, cue in enumerate(show.cues, start=1)]
    problems = [
        Problem(
            "FIRMWARE-011",
            f'the {what} of circuit "{show.layout.circuit.name}" is longer than the chip can count',
            f"{frames} frames of {show.frame_ms} ms",
            f"{most} frames",
            "make it shorter, or the frame period longer",
        )
        for what, frames, most in limits
        if frames > most
    ]
    if len(show.cues) > _MOST_CUES:
        problems.append(
            Problem(
                "FIRMWARE-011",
                f'circuit "{show.layout.circuit.name}" has more cues than the chip can count',
                f"{len(show.cues)} cues",
                f"{_MOST_CUES} cues",
                "join neighbouring cues",
            )
        )
    if problems:
        raise MakerError(problems)
