"""Cycles that each look of the library takes per pixel on an ATmega328P, composing only.

Run: python benchmarks/look_cycles.py [look ...]
     python benchmarks/look_cycles.py --csv docs/pictures/looks/cycles.csv   for the gallery

The look's function, as the firmware has it, is built around two writes of a pin; the
emulated chip tells how long the pin stays high. Beside it stands what a frame's time leaves
for a pixel after the line has been written (30 µs a pixel).
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

import numpy as np

from lampwright.chip import BitWindows, EmulatedChip, Line
from lampwright.firmware import Compiler, find_compiler
from lampwright.firmware.compiler import FLAGS
from lampwright.firmware.image import flash_image
from lampwright.firmware.looks_text import table_text
from lampwright.look import PRELUDE, Places, Program, TablePool, compile_look, read_look, settle
from lampwright.show.compile import library_names, library_text
from lampwright.show.gallery import look_digest

CLOCK_HZ = 16_000_000
N_PIXEL = 300
N_FRAME = 40
BRIGHTNESS = 0.7

MAIN = """
#include <avr/io.h>
#include <avr/pgmspace.h>
#include <stdint.h>
static uint8_t frame[900];
static bool is_mixing;
static inline void put(uint16_t i, uint8_t red, uint8_t green, uint8_t blue)
{
    uint8_t *pixel = frame + 3 * i;
    pixel[0] = green;
    pixel[1] = red;
    pixel[2] = blue;
}
@LOOKS@
int main()
{
    DDRB = 1;
    for (uint32_t t = 0;; t += 97) {
        PORTB = 1;
        look(t);
        PORTB = 0;
        for (volatile uint8_t pause = 200; pause > 0; --pause) {}
    }
}
"""


def cycles(program: Program, tools: Compiler) -> tuple[int, int]:
    """Return the fewest and the most cycles of one frame."""
    pool = TablePool()
    function = program.cpp("look", pool)
    tables = "\n".join(table_text(table) for table in pool.tables)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "main.cpp").write_text(MAIN.replace("@LOOKS@", "\n".join([tables, PRELUDE, function])))
        built = tools.compile(["-mmcu=atmega328p", *FLAGS, "-w", "main.cpp", "-o", "main.elf"], folder)
        assert built.is_done, built.text
        tools.to_hex("main.elf", "main.hex", folder)
        image = flash_image(folder / "main.hex")
    short, long = (0.0, 1e-6), (1e-6, 1.0)
    chip = EmulatedChip(image, CLOCK_HZ, [Line("B", 0, BitWindows(short, long, long, long, 1e-6))])
    chip.run(CLOCK_HZ // 40 * N_FRAME)
    report = chip.report(0)
    return report.shortest["one high"], report.longest["one high"]


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
        fewest, most = (round(c / N_PIXEL) for c in cycles(library_program(name), compiler))
        print(f"{name:24} {fewest:8} {most:8}")
        rows.append(f"{name},{fewest},{most},{look_digest(name)}")
    if given.csv:
        given.csv.write_text("\n".join(rows) + "\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
