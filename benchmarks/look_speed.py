"""Pixel samples a second that compiled loops draw, each look of the library, one core.

Run: python benchmarks/look_speed.py
"""

from __future__ import annotations

import time

import numpy as np

from lampwright.look import Places, compile_look, read_look, settle
from lampwright.show.compile import library_names, library_text

N_PIXEL, N_FRAME = 400, 4000


def main() -> None:
    """Print the table."""
    along = (np.arange(N_PIXEL) + 0.5) / 60
    places = Places(along, np.c_[along * 0, along * 0.3, along * 0.5], 1)
    source = np.zeros(1 << 25, dtype=np.int64)
    begun = time.perf_counter()
    source.copy()
    bandwidth = 2 * source.nbytes / (time.perf_counter() - begun)
    print(f"memory copies at {bandwidth / 1e9:.1f} GB/s (read and write)")
    for name in library_names():
        look = read_look(library_text(name), name, name)
        program = compile_look(look, settle(look, {}, {}), places, 0.025, 100_000, 0.7)
        best = min(_seconds(program.frames, np.arange(N_FRAME) + start) for start in (0, 20_000, 40_000))
        print(f"{name:24} {N_FRAME * N_PIXEL / best / 1e6:8.1f} million pixel samples a second")


def _seconds(draw, times) -> float:  # type: ignore[no-untyped-def]
    begun = time.perf_counter()
    draw(times)
    return time.perf_counter() - begun


if __name__ == "__main__":
    main()
