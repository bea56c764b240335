"""Circuits of catalogue parts and shows of small looks, to write firmware for."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from lampwright.firmware import FirmwareSource, write_firmware
from lampwright.layout.model import CircuitLayout, RunLayout
from lampwright.look import Places, compile_look, read_look
from lampwright.parts import Board, Pack, Strip, find
from lampwright.piece.model import Circuit, Ending, Run
from lampwright.show.model import CircuitShow, CueProgram, Indicator, Limiter

ShowOf = Callable[..., CircuitShow]

RED = "colour = light(1, 0.25, 0)"
RAMP = "colour = light(along * 0.5, fraction(time * 3), 1 - along * 0.4)"
SHIMMER = "glow = noise(along * 4, time * 2)\ncolour = light(glow, glow * 0.6, sine(time) * 0.5 + 0.5)"

CUES: tuple[tuple[str, int, int], ...] = ((RED, 30, 8), (RAMP, 40, 20), (SHIMMER, 30, 30))
"""(look, frames, frames of fade)"""


def build_show(
    n_pixels: Sequence[int] = (20,),
    *,
    pins: Sequence[str] = ("PD6", "PD5", "PB0"),
    cues: Sequence[tuple[str, int, int]] = CUES,
    frame_ms: int = 25,
    standby_frames: int = 40,
    ending: Ending = Ending.REPEAT,
    cap: int = 1 << 31,
    strip: str = "ws2812b-60",
    board_name: str = "m328p-16mhz-crystal",
    **board_changes: Any,
) -> CircuitShow:
    """Return a show over runs of these pixel counts; ``board_changes`` replace fields of the board.

    A number in ``board_changes`` replaces the value of a figure.
    """
    the_strip = find(Strip, strip)
    board = find(Board, board_name)
    for field, value in board_changes.items():
        given = dataclasses.replace(getattr(board, field), value=value) if isinstance(value, (int, float)) else value
        board = dataclasses.replace(board, **{field: given})
    firsts = [sum(n_pixels[:i]) for i in range(len(n_pixels))]
    runs = [Run(f"run {i + 1}", pins[i], the_strip, ()) for i in range(len(n_pixels))]
    layouts = tuple(RunLayout(r, f, n, ()) for r, f, n in zip(runs, firsts, n_pixels, strict=True))
    circuit = Circuit("arch 1", 0, find(Pack, "pack-10ah-2a"), board, 1.6, tuple(runs))
    along = np.concatenate([(np.arange(n) + 0.5) / 60 for n in n_pixels])
    layout = CircuitLayout(circuit, layouts, np.stack([along, 0 * along, 0 * along], axis=1), along)
    return CircuitShow(
        layout=layout,
        frame_ms=frame_ms,
        standby_frames=standby_frames,
        pass_frames=sum(length for _, length, _ in cues),
        ending=ending,
        cues=_programs(cues, layout, frame_ms),
        indicator=Indicator((0, 3, 6), (60, 40, 10)),
        limiter=Limiter((2000, 1900, 1800), cap),
        channel_order=(1, 0, 2),
    )


def _programs(cues: Sequence[tuple[str, int, int]], layout: CircuitLayout, frame_ms: int) -> tuple[CueProgram, ...]:
    places = Places(layout.along, layout.xyz, 0)
    programs = {
        text: compile_look(
            read_look(f'"""A test."""\n{text}', "test", "test.look"), {}, places, frame_ms / 1000, 500, 1
        )
        for text, _, _ in cues
    }
    starts = [sum(length for _, length, _ in cues[:i]) for i in range(len(cues))]
    return tuple(
        CueProgram(programs[text], start, length, fade)
        for start, (text, length, fade) in zip(starts, cues, strict=True)
    )


@pytest.fixture
def show_of() -> ShowOf:
    """Return :func:`build_show`."""
    return build_show


@pytest.fixture(scope="session")
def source(tmp_path_factory: pytest.TempPathFactory) -> FirmwareSource:
    """Write the firmware of a small show with two runs, once for all tests that only read it."""
    return write_firmware(build_show((20, 7)), Path(tmp_path_factory.mktemp("firmware")) / "arch-1")
