"""How fast a large piece is laid out: 60,000 pixels on members of every shape, and wound, laced and hung between them.

The file is read once before, so that what is measured is the layout alone; reading it is told apart.
"""

from __future__ import annotations

import time
from pathlib import Path

from lampwright.layout import lay_out
from lampwright.piece import piece_from_text

N_CIRCUIT = 120

_HEAD = """
[brief]
name = "Bench"
place = "bench"
date = 2026-12-19
standby = "1 min"
run_time = "1 h"
coldest = "5 degC"
wind = "0 m/s"
survive = { failures = 0, lit = "0 %" }

[show]
rate = "20 /s"
brightness = "20 %"

[[cue]]
look = "slow-ice"
length = "1 min"
"""

_SHAPES = {
    "hoop": 'shape = "hoop"\nwidth = "2.4 m"\nheight = "3.3 m"',
    "arc": 'shape = "arc"\nchord = "3 m"\nrise = "2.6 m"',
    "bent": 'shape = "bent"\nbend = "20 cm"\npoints = [["-1.5 m", "0 m", "0 m"], ["-1.5 m", "0 m", "2.5 m"], '
    '["1.5 m", "0 m", "2.5 m"], ["1.5 m", "0 m", "0 m"]]',
}

_CIRCUIT = """
[[member]]
name = "{name}"
{shape}
at = ["{x} m", "0 m", "0 m"]
tube = "conduit-1"
repeat = {{ pattern = "row", count = {count}, step = ["0 m", "1.8 m", "0 m"] }}

[[circuit]]
name = "{name}"
each = "{name}"
pack = "pack-20ah-3a"
board = "m2560-16mhz-crystal"
[[circuit.run]]
name = "light"
strip = "ws2812b-60"
pin = "{pin}"
section = [{{ on = "{name}", {way} }}]
[[circuit.run]]
name = "line"
strip = "ws2812b-60"
pin = "PD2"
skip = "last"
section = [{{ span = {{ from = "{point}", to = "next {point}" }}, sag = "10 cm" }}]
"""


def main() -> None:
    """Print the times."""
    text = _piece()
    began = time.perf_counter()
    piece = piece_from_text(text, Path("bench.toml"))
    read = time.perf_counter() - began
    times = []
    for _ in range(3):
        began = time.perf_counter()
        layout = lay_out(piece)
        times.append(time.perf_counter() - began)
    n_pixel = sum(circuit.n_pixel for circuit in layout.circuits)
    n_section = sum(len(run.sections) for circuit in layout.circuits for run in circuit.runs)
    print(f"{n_pixel} pixels, {n_section} sections, {len(piece.members)} members")
    print(f"read from its file   {read:8.3f} s")
    best = min(times)
    rate = n_pixel / best / 1e6
    print(f"laid out             {best:8.3f} s, the best of {len(times)}; {rate:.2f} million pixels a second")


def _piece() -> str:
    ways = {
        "hoop": 'bare_start = "10 cm"',
        "arc": 'spiral = "18 cm"',
        "bent": 'zigzag = { width = "40 cm", pitch = "25 cm" }',
    }
    points = {"hoop": "crown", "arc": "crown", "bent": "corner 1"}
    circuits = [
        _CIRCUIT.format(
            name=name,
            shape=shape,
            x=10 * number,
            count=N_CIRCUIT // 3,
            way=ways[name],
            point=points[name],
            pin="PD1",
        )
        for number, (name, shape) in enumerate(_SHAPES.items())
    ]
    return _HEAD + "".join(circuits)


if __name__ == "__main__":
    main()
