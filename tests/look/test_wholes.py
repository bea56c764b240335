"""Whole numbers are the same on every back-end at every width and sign, also where no look has gone yet."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from lampwright.firmware import WasiCompiler
from lampwright.look import js
from lampwright.look.run import in_order, run
from lampwright.look.writing import FunctionPlan
from tests.look.chip_run import run_chip
from tests.look.native_run import run_native
from tests.look.node_run import run_node
from tests.look.random_wholes import EDGE_TIMES, MADE, probe, random_plan

CI_GRAPHS, SWEEP_GRAPHS = 200, 2000
BATCH = 100


def _meant(plan: FunctionPlan) -> NDArray[np.uint8]:
    return run(plan.codes, EDGE_TIMES, plan.n_pixel)


def test_every_operation_is_the_same_everywhere_at_the_ends_of_all_types(
    tmp_path: Path,
) -> None:
    probes = [probe(way) for way in (*MADE, "clock", "pixel")]
    assert all(len(plans) >= 4 for plans in probes)
    plans = [plan for every in probes for plan in every]
    for back_end in (run_native, run_node, run_chip):
        for plan, sent in zip(plans, back_end(plans, EDGE_TIMES, tmp_path), strict=True):
            np.testing.assert_array_equal(sent, _meant(plan), err_msg=f"{plan.comment[0]}: {back_end.__name__}")


def _compare(seeds: range, folder: Path) -> None:
    plans = [random_plan(seed) for seed in seeds]
    for back_end in (run_native, run_node, run_chip):
        for seed, plan, sent in zip(seeds, plans, back_end(plans, EDGE_TIMES, folder), strict=True):
            np.testing.assert_array_equal(sent, _meant(plan), err_msg=f"seed {seed}: {back_end.__name__}")


def test_random_values_are_the_same_everywhere(tmp_path: Path) -> None:
    for first in range(0, CI_GRAPHS, BATCH):
        _compare(range(first, first + BATCH), tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("part", range(4))
def test_many_random_values_are_the_same_everywhere(part: int, tmp_path: Path) -> None:
    start, count = CI_GRAPHS + part * SWEEP_GRAPHS // 4, SWEEP_GRAPHS // 4
    for first in range(start, start + count, BATCH):
        _compare(range(first, first + BATCH), tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("part", range(4))
def test_many_random_values_are_the_same_by_the_compiler_for_every_system(part: int, tmp_path: Path) -> None:
    count = SWEEP_GRAPHS // 4
    for first in range(part * count, (part + 1) * count, BATCH):
        plans = [random_plan(seed) for seed in range(first, first + BATCH)]
        sent = run_chip(plans, EDGE_TIMES, tmp_path, WasiCompiler())
        for seed, plan, codes in zip(range(first, first + BATCH), plans, sent, strict=True):
            np.testing.assert_array_equal(codes, _meant(plan), err_msg=f"seed {seed}")


def test_random_values_use_every_operation() -> None:
    used = {node.operation for seed in range(60) for node in in_order(random_plan(seed).codes)}
    assert used == set(js.PRINT) | {"constant"}
    assert {*MADE, "clock", "pixel"} == {*js.PRINT, "short product"}
