"""Pieces and frames made by hand, for tests of flashing light."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lampwright.findings.model import Finding
from lampwright.layout.model import CircuitLayout, RunLayout
from lampwright.parts import Board, Pack, Strip, find, override
from lampwright.piece.model import Brief, Circuit, Ending, Piece, Run, ShowSheet, SourceMap, Standby, Survive
from lampwright.show import CircuitShow, Flashing, Indicator, Limiter, Screening, check_flashes, view_piece

Frames = NDArray[np.uint8]
FRAME_MS = 25
SECOND = 1000 // FRAME_MS


def circuit_of(places: NDArray[np.float64], number: int = 0, frame_ms: int = FRAME_MS) -> CircuitShow:
    """Return a circuit without looks, its pixels at these places; equal codes are the standard's white."""
    even = {f"white_{channel}": "100 %" for channel in ("red", "green", "blue")}
    run = Run("light", "PD6", override(find(Strip, "ws2812b-60"), even), ())
    pack, board = find(Pack, "pack-20ah-2a4"), find(Board, "m328p-16mhz-crystal")
    circuit = Circuit(f"part {number + 1}", number, pack, board, 2.0, (run,))
    layout = CircuitLayout(circuit, (RunLayout(run, 0, len(places), ()),), places, places[:, 0])
    dark = Indicator((), (0, 0, 0))
    # standby without an end: no moment of it needs a cue to be named by
    return CircuitShow(layout, frame_ms, 10**6, 1, Ending.HOLD, (), dark, Limiter((1, 1, 1), 1 << 30), (1, 0, 2))


def strip_of(n_pixel: int = 30) -> NDArray[np.float64]:
    """Return places of one strip of 60 pixels a metre: far less than the exempt area."""
    return np.stack([np.arange(n_pixel) / 60, np.zeros(n_pixel), np.full(n_pixel, 1.6)], axis=1)


def panel_of(side: int = 34) -> NDArray[np.float64]:
    """Return places of strips side by side, 10 mm apart: with 34 × 34 pixels more than the exempt area."""
    across, up = np.meshgrid(np.arange(side) / 60, 1.4 + np.arange(side) / 100)
    return np.stack([across.ravel(), np.zeros(side * side), up.ravel()], axis=1)


def light(levels: Sequence[float] | NDArray[np.float64], n_pixel: int, colour: tuple[int, int, int]) -> Frames:
    """Return frames in which all pixels show a colour at these shares of its codes."""
    codes = np.round(np.asarray(levels)[:, None] * np.array(colour)).astype(np.uint8)
    return np.repeat(codes[:, None], n_pixel, axis=1)


def square(rate: float, seconds: float, low: float = 0.0, high: float = 1.0, late: float = 0.0) -> NDArray[np.float64]:
    """Return levels that blink ``rate`` times a second, ``late`` parts of a period behind."""
    time = np.arange(round(seconds * SECOND)) / SECOND
    return np.where((time * rate - late) % 1 < 0.5 - 1e-9, high, low)


def screen(
    shows: Sequence[CircuitShow], frames: Sequence[Frames], first: int = 0, block: int = 1000, brightness: float = 1.0
) -> Flashing:
    """Screen frames of each circuit, from power-on on; count seconds that end at ``first`` or later."""
    sheet = ShowSheet(shows[0].frame_ms / 1000, brightness, Ending.HOLD, ())
    screening = Screening(shows, sheet, view_piece([show.layout for show in shows]), first)
    for start in range(screening.start, len(frames[0]), block):
        screening.follow([codes[start : start + block] for codes in frames])
    return screening.result()


def findings(
    places: Sequence[NDArray[np.float64]], frames: Sequence[Frames], brightness: float = 1.0
) -> tuple[Finding, Finding]:
    """Return the findings on general and red flashes of a piece of several circuits."""
    shows = [circuit_of(each, number) for number, each in enumerate(places)]
    brief = Brief("Blinker", "here", datetime.date(2026, 12, 19), 0.0, 60.0, 278.15, 0.0, Survive(0, 0.0))
    sheet = ShowSheet(FRAME_MS / 1000, brightness, Ending.HOLD, ())
    piece = Piece(Path("blinker.toml"), brief, (), (), Standby("#ffffff", 0.2, 0, 1), sheet, SourceMap({}))
    view = view_piece([show.layout for show in shows])
    general, red = check_flashes(piece, shows, view, screen(shows, frames, brightness=brightness))
    return general, red
