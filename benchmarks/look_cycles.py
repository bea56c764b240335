"""Cycles that each look of the library takes per pixel on an ATmega328P, composing only.

Run: python benchmarks/look_cycles.py [look ...]
     python benchmarks/look_cycles.py --csv docs/pictures/looks/cycles.csv   for the gallery

The look's function, as the firmware has it, is built around two writes of a pin; the
emulated chip tells how long the pin stays high. Beside it stands what a frame's time leaves
for a pixel after the line has been written (30 µs a pixel).
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from lampwright.firmware import find_compiler
from lampwright.look import Places, Program, compile_look, read_look, settle
from lampwright.rehearsal.look_cost import CLOCK_HZ, frame_cycles
from lampwright.show.compile import library_names, library_text
from lampwright.show.gallery import look_digest

N_PIXEL = 300
BRIGHTNESS = 0.7


def library_program(name: str) -> Program:
    """Return a look of the library for pixels that rise along the path."""
    along = (np.arange(N_PIXEL) + 0.5) / 60
    places = Places(along, np.c_[along * 0, along * 0.3, along * 0.5], 1)
    look = read_look(library_text(name), name, name)
    return compile_look(look, settle(look, {}, {}), places, 0.025, 100_000, BRIGHTNESS)


def main() -> None:
    """Print the table, and write it where asked to."""
    parser = argparse.ArgumentParser(description="Measure the cycles that looks take per pixel.")
    parser.add_argument("looks", nargs="*", help="names of looks; all where none is given")
    parser.add_argument("--csv", type=Path, help="file to write the table to, each look with the digest of its text")
    given = parser.parse_args()
    left = (CLOCK_HZ / 40 - (N_PIXEL * 30e-6 + 300e-6) * CLOCK_HZ) / N_PIXEL
    print(f"{N_PIXEL} pixels at 40 frames a second leave {left:.0f} cycles a pixel after the line is written")
    print(f"{'look':24} {'fewest':>8} {'most':>8}   cycles a pixel")
    rows = ["look,fewest,most,digest"]
    compiler = find_compiler()
    for name in given.looks or library_names():
        fewest, most = (round(c / N_PIXEL) for c in frame_cycles(library_program(name), compiler))
        print(f"{name:24} {fewest:8} {most:8}")
        rows.append(f"{name},{fewest},{most},{look_digest(name)}")
    if given.csv:
        given.csv.write_text("\n".join(rows) + "\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
