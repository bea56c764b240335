"""Draws a whole show: 4 circuits of 400 pixels, 90 minutes at 40 frames a second, 345.6 million pixel samples.

Run: python benchmarks/show_speed.py

All frames are drawn in blocks, circuits side by side on the machine's cores, and thrown away. Beside
the samples a second stand those of one core by numpy and by compiled loops, and what the machine copies
in memory, all in the same run.
"""

from __future__ import annotations

import multiprocessing
import os
import resource
import time
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path

import numpy as np

from lampwright.layout import lay_out
from lampwright.look.run import run
from lampwright.piece import piece_from_text
from lampwright.show import CircuitShow, blocks, compile_show

PIECE = """
[brief]
name = "Four Posts"
place = "bench"
date = 2026-12-19
standby = "1 min"
run_time = "90 min"
coldest = "0 degC"
wind = "0 m/s"
survive = { failures = 0, lit = "0 %" }

[[member]]
name = "post"
shape = "straight"
length = "6.67 m"
repeat = { pattern = "row", count = 4, step = ["1 m", "0 m", "0 m"] }

[[circuit]]
name = "post"
each = "post"
pack = "pack-20ah-3a"
board = "m328p-16mhz-crystal"
[[circuit.run]]
name = "strip"
strip = "ws2812b-60"
pin = "PD6"
[[circuit.run.section]]
on = "post"

[show]
rate = "40 /s"
brightness = "20 %"

[[cue]]
look = "slow-ice"
length = "30 min"
fade = "10 s"
[[cue]]
look = "drifting-glints"
length = "30 min"
fade = "10 s"
[[cue]]
look = "rime-road"
length = "30 min"
fade = "10 s"
"""

STRETCH = 12_000


def draw(show: CircuitShow, first: int, count: int) -> tuple[int, int]:
    """Draw frames and return how many samples they held and the most memory this process took. [byte]"""
    samples = sum(block.codes.shape[0] * block.codes.shape[1] for block in blocks(show, first, count))
    return samples, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


def one_core(show: CircuitShow) -> tuple[float, float]:
    """Return samples a second of all looks on one core: by numpy, and by their compiled loops."""
    times = np.arange(2000)
    spent = {"numpy": 0.0, "loop": 0.0}
    for program in {cue.program: None for cue in show.cues}:
        program.frames(times)  # the loop is made, or taken from where it is kept
        begun = time.perf_counter()
        by_numpy = run(program.codes, times, program.n_pixel)
        spent["numpy"] += time.perf_counter() - begun
        begun = time.perf_counter()
        by_loop = program.frames(times)
        spent["loop"] += time.perf_counter() - begun
        assert (by_numpy == by_loop).all()
    samples = len({cue.program for cue in show.cues}) * len(times) * show.n_pixel
    return samples / spent["numpy"], samples / spent["loop"]


def main() -> None:
    """Draw and print."""
    shows = compile_show(lay_out(piece_from_text(PIECE, Path("four-posts.toml"))))
    assert [show.n_pixel for show in shows] == [400] * 4
    source = np.zeros(1 << 25, dtype=np.int64)
    begun = time.perf_counter()
    source.copy()
    bandwidth = 2 * source.nbytes / (time.perf_counter() - begun)
    numpy_rate, loop_rate = one_core(shows[0])
    begun, samples, memory = time.perf_counter(), 0, 0
    n_core = os.cpu_count() or 1
    with ProcessPoolExecutor(n_core, multiprocessing.get_context("spawn")) as pool:
        parts = [
            pool.submit(draw, show, first, STRETCH)
            for show in shows
            for first in range(show.standby_frames, show.standby_frames + show.pass_frames, STRETCH)
        ]
        for done, part in enumerate(as_completed(parts), start=1):
            some, most = part.result()
            samples, memory = samples + some, max(memory, most)
            print(f"\r{done} of {len(parts)} stretches", end="", flush=True)
    seconds = time.perf_counter() - begun
    rate = samples / seconds
    print(f"\r{samples / 1e6:.1f} million pixel samples in {seconds:.1f} s on {n_core} cores")
    print(f"{rate / 1e6:.1f} million a second, {memory / 1e6:.0f} MB in the largest process")
    print(
        f"one core: numpy {numpy_rate / 1e6:.1f} million a second, compiled loops {loop_rate / 1e6:.1f} million, "
        f"{loop_rate / numpy_rate:.1f} times"
    )
    print(f"memory copies at {bandwidth / 1e9:.1f} GB/s: {bandwidth / rate:.0f} bytes could be moved per sample")


if __name__ == "__main__":
    main()
