"""What a look costs on the chip: its function, as the firmware has it, run between two writes of a pin."""

from __future__ import annotations

import tempfile
from pathlib import Path

from lampwright.chip import BitWindows, EmulatedChip, Line
from lampwright.firmware import Compiler
from lampwright.firmware.compiler import FLAGS
from lampwright.firmware.image import flash_image
from lampwright.firmware.looks_text import table_text
from lampwright.look import PRELUDE, Program, TablePool

MAIN = """
#include <avr/io.h>
#include <avr/pgmspace.h>
#include <stdint.h>
static uint8_t frame[@BYTES@];
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


CLOCK_HZ = 16_000_000
"""Of the emulated chip; cycles don't depend on it. [Hz]"""

LONGEST = 0.1
"""A frame may take so long. [s]"""


def frame_cycles(program: Program, tools: Compiler, chip: str = "atmega328p", n_frame: int = 40) -> tuple[int, int]:
    """Return the fewest and the most cycles in which the chip works out one frame of a program.

    Frames are taken from all over the look's time, 97 apart.

    Raises
    ------
    ValueError
        The compiler doesn't take it, or no frame is done in time: the look is too large or too slow for this chip.
    """
    pool = TablePool()
    function = program.cpp("look", pool)
    tables = "\n".join(table_text(table) for table in pool.tables)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        text = MAIN.replace("@LOOKS@", "\n".join([tables, PRELUDE, function]))
        (folder / "main.cpp").write_text(text.replace("@BYTES@", str(3 * program.n_pixel)))
        built = tools.compile([f"-mmcu={chip}", *FLAGS, "-w", "main.cpp", "-o", "main.elf"], folder)
        if not built.is_done:
            raise ValueError(built.text)
        tools.to_hex("main.elf", "main.hex", folder)
        image = flash_image(folder / "main.hex")
    short, long = (0.0, 1e-6), (1e-6, 1.0)
    bench = EmulatedChip(image, CLOCK_HZ, [Line("B", 0, BitWindows(short, long, long, long, 1e-6))], chip)
    bench.run(round(CLOCK_HZ * LONGEST) * n_frame // 4)
    report = bench.report(0)
    if "one high" not in report.longest:
        raise ValueError("no frame is done in time")
    return report.shortest["one high"], report.longest["one high"]
