"""Frames a second that each library look reaches on a 16 MHz ATmega328P with 300 pixels, limiter at work.

Run: python benchmarks/frame_rates.py [look ...]

The whole firmware is built and run on the emulated chip; its busiest frame tells how many frames a second
it could send at most. The brightness is high and the current cap low, so that the limiter dims frames. Beside
it stands the share of what the data line itself allows: 300 pixels of 30 µs and a latch of 300 µs.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from lampwright.chip import EmulatedChip
from lampwright.firmware import build, write_firmware
from lampwright.layout import lay_out
from lampwright.piece import piece_from_text
from lampwright.rehearsal.stage import listening_lines
from lampwright.show import compile_show
from lampwright.show.compile import library_names

LINE_FRAMES_PER_SECOND = 1 / (300 * 30e-6 + 300e-6)
WANTED = 40
N_FRAME = 60

PIECE = """
[brief]
name = "Bench"
place = "bench"
date = 2026-12-19
standby = "1 min"
run_time = "10 min"
coldest = "20 degC"
wind = "0 m/s"
survive = {{ failures = 0, lit = "0 %" }}
[[member]]
name = "post"
shape = "straight"
length = "5 m"
[[circuit]]
name = "post"
pack = "pack-20ah-3a"
board = "m328p-16mhz-crystal"
current_cap = "0.4 A"
[[circuit.run]]
name = "strip"
strip = "ws2812b-60"
pin = "PD6"
[[circuit.run.section]]
on = "post"
[standby]
every = 1
[show]
rate = "20 /s"
brightness = "90 %"
[[cue]]
look = "{look}"
length = "5 min"
"""


def busiest_frame(look: str, folder: Path) -> float:
    """Return how long the chip is awake for its busiest frame, writing, composing and limiting. [s]"""
    show = compile_show(lay_out(piece_from_text(PIECE.format(look=look), folder / "bench.toml")))[0]
    assert show.n_pixel == 300
    image = build(write_firmware(show, folder / look)).image
    clock = show.layout.circuit.board.clock.value
    chip = EmulatedChip(image, clock, listening_lines(show))
    period = clock * show.frame_ms / 1000
    chip.run(round((show.standby_frames + N_FRAME) * period))
    assert chip.longest_awake is not None
    return chip.longest_awake / clock


def main() -> None:
    """Print the table."""
    print(f"the line alone allows {LINE_FRAMES_PER_SECOND:.1f} frames a second; {WANTED} are wanted")
    print(f"{'look':24} {'busy ms':>8} {'frames/s':>9} {'of the line':>12}")
    with tempfile.TemporaryDirectory() as name:
        for look in sys.argv[1:] or library_names():
            busy = busiest_frame(look, Path(name))
            rate = 1 / busy
            mark = "" if rate >= WANTED else f"  below {WANTED}"
            print(f"{look:24} {busy * 1e3:8.1f} {rate:9.1f} {rate / LINE_FRAMES_PER_SECOND:12.0%}{mark}")


if __name__ == "__main__":
    main()
