"""A small circuit of catalogue parts, and shows over it made of plain frames."""

from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from lampwright.layout.model import CircuitLayout, RunLayout
from lampwright.parts import Board, Pack, Strip, Supply, find, override
from lampwright.piece.model import Bank, Brief, Circuit, Ending, Piece, Run, ShowSheet, SourceMap, Standby, Survive
from lampwright.power import Draw, frame_currents, gather
from lampwright.show.model import CircuitShow, Indicator, Limiter
from lampwright.show.render import Block

Frames = NDArray[np.uint8]
BuildShow = Callable[..., CircuitShow]
BuildPiece = Callable[..., Piece]
MeasureFrames = Callable[[CircuitShow, Frames], Draw]


ONE_PACK = Bank()


def layout_of(
    n_pixel: int,
    strip: Mapping[str, str],
    pack: Mapping[str, str],
    board: Mapping[str, str],
    current_cap: float | None,
    bank: Bank,
    supply: Supply | None = None,
) -> CircuitLayout:
    """Return one run of round figures: 20 + 20 + 20 mA a pixel, 1 mA dark, board 30 mA, pack 10 Ah and 2 A."""
    round_strip = {"red_current": "20 mA", "green_current": "20 mA", "blue_current": "20 mA"}
    the_strip = override(find(Strip, "ws2812b-60"), {**round_strip, "quiescent_current": "1 mA", **strip})
    the_board = override(find(Board, "m328p-16mhz-crystal"), {"current": "30 mA", **board})
    source = override(find(Pack, "pack-10ah-2a"), pack) if supply is None else supply
    outlet = "" if supply is None else "A"
    run = Run("strip", "PD6", the_strip, ())
    cap = 0.8 * source.current_limit.value if current_cap is None else current_cap
    circuit = Circuit("arch 1", 0, source, the_board, cap, (run,), bank=bank, outlet=outlet)
    along = (np.arange(n_pixel) + 0.5) / 60
    xyz = np.stack([along, 0 * along, 0 * along], axis=1)
    return CircuitLayout(circuit, (RunLayout(run, 0, n_pixel, ()),), xyz, along)


@pytest.fixture
def show_of() -> BuildShow:
    """Build a show without looks, for frames made by hand; currents in round figures."""

    def build(
        n_pixel: int = 100,
        *,
        standby_frames: int = 0,
        pass_frames: int = 4,
        frame_ms: int = 25,
        ending: Ending = Ending.HOLD,
        strip: Mapping[str, str] = {},
        pack: Mapping[str, str] = {},
        board: Mapping[str, str] = {},
        current_cap: float | None = None,
        bank: Bank = ONE_PACK,
        supply: Supply | None = None,
    ) -> CircuitShow:
        layout = layout_of(n_pixel, strip, pack, board, current_cap, bank, supply)
        idle = layout.circuit.board.current.value + n_pixel * layout.circuit.strip.quiescent_current.value
        cap = round((layout.circuit.current_cap - idle) * 1e5) * 255
        limiter = Limiter((2000, 2000, 2000), cap)
        return CircuitShow(
            layout,
            frame_ms,
            standby_frames,
            pass_frames,
            ending,
            (),
            Indicator((0,), (1, 1, 1)),
            limiter,
            (1, 0, 2),
        )

    return build


@pytest.fixture
def piece_with() -> BuildPiece:
    """Build a piece around whatever the brief and the show sheet are to say."""

    def build(*, brightness: float = 0.7, **brief: float) -> Piece:
        plain = Brief("test", "here", datetime.date(2026, 12, 19), 0.0, 3600.0, 298.15, 7.0, Survive(1, 0.75))
        sheet = ShowSheet(0.025, brightness, Ending.HOLD, ())
        the_brief = dataclasses.replace(plain, **brief)
        return Piece(Path("test.toml"), the_brief, (), (), Standby("#ffffff", 0.2, 0, 3), sheet, SourceMap({}))

    return build


@pytest.fixture
def measure() -> MeasureFrames:
    """Measure frames made by hand: (n_frame, n_pixel, 3) as the looks would have them."""

    def run(show: CircuitShow, wanted: Frames) -> Draw:
        weights = np.array(show.limiter.weights, dtype=np.int64)
        load = wanted.sum(axis=1, dtype=np.int64) @ weights
        scale = np.where(load > show.limiter.cap, show.limiter.cap // ((load >> 8) + 1), 256)
        sent = ((wanted.astype(np.int64) * scale[:, None, None]) >> 8).astype(np.uint8)
        half = len(wanted) // 2
        parts = [Block(0, sent[:half], load[:half], scale[:half])]
        parts += [Block(half, sent[half:], load[half:], scale[half:])]
        return gather(show, [frame_currents(show, block) for block in parts])

    return run
