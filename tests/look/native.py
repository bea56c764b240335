"""Runs the C++ of looks on this computer, with every overflow of C++ trapped."""

from __future__ import annotations

import subprocess
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lampwright.look import PRELUDE, Program, TablePool

_HEAD = """\
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#define PROGMEM
static inline uint8_t pgm_read_byte(const void *p) { return *(const uint8_t *)p; }
static inline uint16_t pgm_read_word(const void *p) { return *(const uint16_t *)p; }
static inline uint32_t pgm_read_dword(const void *p) { return *(const uint32_t *)p; }
static void put(uint16_t, uint8_t r, uint8_t g, uint8_t b) { putchar(r); putchar(g); putchar(b); }
"""


def run_native(programs: Sequence[Program], times: NDArray[np.int64], folder: Path) -> list[NDArray[np.uint8]]:
    """Return each program's codes (n_time, n_pixel, 3) as the host's g++ computes them."""
    pool = TablePool()
    functions = [program.cpp(f"look_{index}", pool) for index, program in enumerate(programs)]
    tables = [
        f"static const {t.ctype} {t.name}[] PROGMEM = {{{', '.join(str(v) for v in t.values)}}};" for t in pool.tables
    ]
    calls = "\n".join(
        f"    for (int k = 1; k < argc; ++k) look_{index}(strtoul(argv[k], 0, 10));" for index in range(len(programs))
    )
    main = f"int main(int argc, char **argv)\n{{\n{calls}\n}}\n"
    source = folder / "looks.cpp"
    source.write_text("\n".join([_HEAD, PRELUDE, *tables, *functions, main]))
    flags = ["-std=gnu++14", "-Wall", "-Werror", "-Wno-unused-function", "-Wno-unused-variable"]
    trap = ["-fsanitize=undefined", "-fno-sanitize-recover"]
    subprocess.run(["g++", *flags, *trap, "-o", folder / "looks", source], check=True)
    arguments = [str(int(t)) for t in times]
    output = subprocess.run([folder / "looks", *arguments], check=True, capture_output=True).stdout
    codes = np.frombuffer(output, dtype=np.uint8)
    results, start = [], 0
    for program in programs:
        size = len(times) * program.n_pixel * 3
        results.append(codes[start : start + size].reshape(len(times), program.n_pixel, 3))
        start += size
    return results
