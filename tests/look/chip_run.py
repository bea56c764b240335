"""Runs C++ on the emulated chip, built by the firmware's own compiler, and hears what it sends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lampwright.chip import BitWindows, EmulatedChip, Line
from lampwright.firmware import Compiler, find_compiler
from lampwright.firmware.compiler import FLAGS
from lampwright.firmware.image import flash_image
from lampwright.firmware.looks_text import table_text
from lampwright.look import PRELUDE, TablePool
from lampwright.look.cpp import write_function
from lampwright.look.writing import FunctionPlan

CLOCK_HZ = 16_000_000
_FLASH = 32 * 1024
"""Flash of an ATmega328P. [byte]"""
_TOGETHER = 24
"""Looks that mostly fit into one chip's flash together."""
_PATIENCE = 4_000_000_000
"""Cycles after which a test gives up waiting for what was to be sent."""

_HEAD = """\
#include <avr/io.h>
#include <avr/pgmspace.h>
#include <stdint.h>
// A long high is a one, a short one a zero; a long low ends a frame.
static __attribute__((noinline)) void send(const uint8_t *bytes, uint16_t count)
{
    for (; count > 0; --count, ++bytes)
        for (uint8_t bit = 0x80; bit > 0; bit >>= 1)
            if (*bytes & bit) {
                PORTB = 1;
                __builtin_avr_delay_cycles(16);
                PORTB = 0;
            } else {
                PORTB = 1;
                PORTB = 0;
            }
    __builtin_avr_delay_cycles(1000);
}
"""

_LOOKS_MAIN = """\
int main()
{
    void (*const looks[])(uint32_t) = {@LOOKS@};
    const uint16_t sizes[] = {@SIZES@};
    DDRB = 1;
    for (uint8_t look = 0; look < sizeof sizes / 2; ++look)
        for (uint16_t k = 0; k < sizeof times / 4; ++k) {
            looks[look](pgm_read_dword(&times[k]));
            send(codes, sizes[look]);
        }
    for (;;) {}
}
"""


def build(text: str, folder: Path, compiler: Compiler | None = None) -> bytes | None:
    """Return the flash image of a program that may call ``send``, or ``None`` where it doesn't fit."""
    (folder / "main.cpp").write_text(_HEAD + PRELUDE + text)
    tools = compiler or find_compiler()
    built = tools.compile(["-mmcu=atmega328p", *FLAGS, "-w", "main.cpp", "-o", "main.elf"], folder)
    if "region `text' overflowed" in built.text:  # a linker that knows the chip's flash
        return None
    assert built.is_done, built.text
    tools.to_hex("main.elf", "main.hex", folder)
    image = flash_image(folder / "main.hex")
    return image if len(image) <= _FLASH else None


def heard(image: bytes, n_frame: int) -> NDArray[np.uint8]:
    """Return the bytes (n_frame, n_byte) of the first frames that a program sends; short ones end in zeros."""
    short, long = (0.0, 6 / CLOCK_HZ), (14 / CLOCK_HZ, 1.0)
    chip = EmulatedChip(
        image, CLOCK_HZ, [Line("B", 0, BitWindows(short, (0.0, 1.0), long, (0.0, 1.0), 600 / CLOCK_HZ))]
    )
    parts: list[NDArray[np.uint8]] = []
    while sum(len(part) for part in parts) < n_frame:
        assert chip.cycle < _PATIENCE, "the chip never sent all"
        chip.run(chip.cycle + 2_000_000)
        parts.append(chip.take_frames().data)
    width = max(part.shape[1] for part in parts)
    return np.concatenate([np.pad(part, ((0, 0), (0, width - part.shape[1]))) for part in parts])


def run_chip(
    plans: Sequence[FunctionPlan], times: NDArray[np.int64], folder: Path, compiler: Compiler | None = None
) -> list[NDArray[np.uint8]]:
    """Return each plan's codes (n_time, n_pixel, 3) as the emulated chip sends them."""
    parts = [plans[first : first + _TOGETHER] for first in range(0, len(plans), _TOGETHER)]
    return [codes for part in parts for codes in _run_together(part, times, folder, compiler)]


def _run_together(
    plans: Sequence[FunctionPlan], times: NDArray[np.int64], folder: Path, compiler: Compiler | None
) -> list[NDArray[np.uint8]]:
    """Return the codes from one chip if all plans fit into it, else from several."""
    pool = TablePool()
    functions = [write_function(replace(plan, name=f"look_{k}"), pool) for k, plan in enumerate(plans)]
    most = max(plan.n_pixel for plan in plans)
    head = [
        f"static const uint32_t times[] PROGMEM = {{{', '.join(f'{t}ul' for t in times)}}};",
        f"static uint8_t codes[{3 * most}];",
        "static inline void put(uint16_t i, uint8_t red, uint8_t green, uint8_t blue)",
        "{ codes[3 * i] = red; codes[3 * i + 1] = green; codes[3 * i + 2] = blue; }",
    ]
    main = _LOOKS_MAIN.replace("@LOOKS@", ", ".join(f"look_{k}" for k in range(len(plans))))
    main = main.replace("@SIZES@", ", ".join(str(3 * plan.n_pixel) for plan in plans))
    image = build("\n".join([*head, *map(table_text, pool.tables), *functions, main]), folder, compiler)
    if image is None:
        assert len(plans) > 1, "one look alone doesn't fit into the flash"
        half = len(plans) // 2
        return [
            codes for part in (plans[:half], plans[half:]) for codes in _run_together(part, times, folder, compiler)
        ]
    frames = heard(image, len(plans) * len(times)).reshape(len(plans), len(times), -1)
    return [
        rows[:, : 3 * plan.n_pixel].reshape(len(times), plan.n_pixel, 3)
        for plan, rows in zip(plans, frames, strict=True)
    ]
