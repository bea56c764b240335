"""Runs the C++ of looks on this computer, with every overflow of C++ trapped."""

from __future__ import annotations

import subprocess
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lampwright.look import PRELUDE, TablePool
from lampwright.look.cpp import write_function
from lampwright.look.writing import FunctionPlan

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


def run_native(plans: Sequence[FunctionPlan], times: NDArray[np.int64], folder: Path) -> list[NDArray[np.uint8]]:
    """Return each plan's codes (n_time, n_pixel, 3) as the host's g++ computes them."""
    pool = TablePool()
    functions = [write_function(replace(plan, name=f"look_{k}"), pool) for k, plan in enumerate(plans)]
    return run_text(functions, pool, plans, times, folder)


def run_text(
    functions: Sequence[str],
    pool: TablePool,
    plans: Sequence[FunctionPlan],
    times: NDArray[np.int64],
    folder: Path,
) -> list[NDArray[np.uint8]]:
    """Return the codes of functions look_0, look_1, ... that are already written."""
    tables = [
        f"static const {t.ctype} {t.name}[] PROGMEM = {{{', '.join(str(v) for v in t.values)}}};" for t in pool.tables
    ]
    calls = "\n".join(
        f"    for (int k = 1; k < argc; ++k) look_{index}(strtoul(argv[k], 0, 10));" for index in range(len(plans))
    )
    main = f"int main(int argc, char **argv)\n{{\n{calls}\n}}\n"
    source = folder / "looks.cpp"
    source.write_text("\n".join([_HEAD, PRELUDE, *tables, *functions, main]))
    flags = ["-std=gnu++14", "-Wall", "-Werror", "-Wno-unused-function", "-Wno-unused-variable"]
    # random values compare what can only come out one way, and a yes or no with a number
    flags += ["-Wno-tautological-compare", "-Wno-logical-not-parentheses"]
    # both sides of a comparison are of the same type on the chip; here int is wider, and signed
    flags += ["-Wno-sign-compare"]
    trap = ["-fsanitize=undefined", "-fno-sanitize-recover"]
    subprocess.run(["g++", *flags, *trap, "-o", folder / "looks", source], check=True)
    arguments = [str(int(t)) for t in times]
    output = subprocess.run([folder / "looks", *arguments], check=True, capture_output=True).stdout
    return parted(np.frombuffer(output, dtype=np.uint8), plans, len(times))


def parted(codes: NDArray[np.uint8], plans: Sequence[FunctionPlan], n_time: int) -> list[NDArray[np.uint8]]:
    """Return the codes of all plans, one after the other, as (n_time, n_pixel, 3) each."""
    assert codes.size == sum(n_time * plan.n_pixel * 3 for plan in plans)
    results, start = [], 0
    for plan in plans:
        size = n_time * plan.n_pixel * 3
        results.append(codes[start : start + size].reshape(n_time, plan.n_pixel, 3))
        start += size
    return results
