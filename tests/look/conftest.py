"""Looks compiled for a small circuit of odd shape."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from lampwright.look import Places, Program, compile_look, read_look, settle

N_PIXEL = 37
LAST_FRAME = 36_000
FRAME_SECONDS = 0.025


@pytest.fixture(scope="session")
def places() -> Places:
    """Pixels along half a hoop, the third circuit of its piece."""
    turn = np.linspace(0, 3, N_PIXEL)
    xyz = np.c_[np.linspace(-1.2, 1.2, N_PIXEL), 1.8 + np.linspace(0, 0.1, N_PIXEL), 2.6 * np.abs(np.sin(turn))]
    section, member = np.arange(N_PIXEL) // 20, np.arange(N_PIXEL) // 10
    return Places(np.linspace(0, 6, N_PIXEL), xyz, 2, section, member)


@pytest.fixture(scope="session")
def compiled(places: Places) -> Callable[..., Program]:
    """Compile a look's text, at full brightness unless told otherwise."""

    def compile_text(text: str, brightness: float = 1.0, last_frame: int = LAST_FRAME) -> Program:
        look = read_look(text, "test", "test.look")
        return compile_look(look, settle(look, {}, {}), places, FRAME_SECONDS, last_frame, brightness)

    return compile_text
