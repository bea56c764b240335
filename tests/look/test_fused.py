"""Whole shows are drawn by compiled loops: they give the very codes that numpy gives, one operation at a time."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from lampwright.look import Places, Program, compile_look, loops, read_look, settle
from lampwright.look.fused import fuse
from lampwright.look.loops import run_fused
from lampwright.look.program import WORTH_COMPILING
from lampwright.look.run import run
from lampwright.look.whole import Whole
from lampwright.look.writing import FunctionPlan
from lampwright.show.compile import library_names, library_text
from lampwright.units import MakerError
from tests.look.conftest import FRAME_SECONDS, LAST_FRAME
from tests.look.random_looks import random_look
from tests.look.random_wholes import EDGE_TIMES, MADE, probe, random_plan

TIMES = np.array([0, 1, 39, 40, 12_345, LAST_FRAME - 1, LAST_FRAME])


@pytest.fixture(autouse=True)
def _own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))


def fused(roots: Sequence[Whole], times: NDArray[np.int64], n_pixel: int) -> NDArray[np.uint8]:
    """Return what one loop for all of these values gives."""
    return run_fused(fuse(roots, n_pixel), times, n_pixel, len(roots))


def test_every_operation_is_the_same_at_the_ends_of_some_types() -> None:
    compare_plans([plan for way in (*MADE, "clock", "pixel") for plan in probe(way)[::6]])


@pytest.mark.slow
def test_every_operation_is_the_same_at_the_ends_of_all_types() -> None:
    compare_plans([plan for way in (*MADE, "clock", "pixel") for plan in probe(way)])


def compare_plans(plans: Sequence[FunctionPlan]) -> None:
    """Compare plans of as many pixels together, some at a time: a compiler's time grows faster than its text."""
    for n_pixel in {plan.n_pixel for plan in plans}:
        alike = [plan for plan in plans if plan.n_pixel == n_pixel]
        for first in range(0, len(alike), 12):
            roots = [code for plan in alike[first : first + 12] for code in plan.codes]
            np.testing.assert_array_equal(fused(roots, EDGE_TIMES, n_pixel), run(roots, EDGE_TIMES, n_pixel))


def test_random_graphs_are_the_same() -> None:
    compare_plans([random_plan(seed) for seed in range(20)])


def compiled_look(seed: int, places: Places) -> Program | None:
    look = read_look(random_look(seed), "random", "random.look")
    try:
        return compile_look(look, settle(look, {}, {}), places, FRAME_SECONDS, LAST_FRAME, 0.7)
    except MakerError:
        return None


def compare(seeds: range, places: Places) -> None:
    programs = [program for seed in seeds if (program := compiled_look(seed, places))]
    roots = [code for program in programs for code in program.codes]
    np.testing.assert_array_equal(fused(roots, TIMES, places.n_pixel), run(roots, TIMES, places.n_pixel))


@pytest.mark.parametrize("first", [0, 10, 20])
def test_random_looks_are_the_same(first: int, places: Places) -> None:
    compare(range(first, first + 10), places)


@pytest.mark.slow
@pytest.mark.parametrize("part", range(2))
def test_many_random_looks_are_the_same(part: int, places: Places) -> None:
    for first in range(part * 50, part * 50 + 50, 10):
        compare(range(100 + first, 110 + first), places)


@pytest.mark.slow
def test_library_looks_are_the_same(places: Places) -> None:
    looks = [read_look(library_text(name), name, name) for name in library_names()]
    programs = [compile_look(look, settle(look, {}, {}), places, FRAME_SECONDS, LAST_FRAME, 0.7) for look in looks]
    for first in range(0, len(programs), 8):
        roots = [code for program in programs[first : first + 8] for code in program.codes]
        np.testing.assert_array_equal(fused(roots, TIMES, places.n_pixel), run(roots, TIMES, places.n_pixel))


def test_a_loop_serves_every_circuit_and_every_setting_of_a_look(places: Places) -> None:
    look = read_look(library_text("slow-ice"), "slow-ice", "slow-ice")
    elsewhere = Places(places.along + 1, places.xyz, places.circuit + 1, places.section, places.member)
    texts = set()
    for where, values in ((places, {}), (elsewhere, {}), (places, {"pace": 0.3})):
        program = compile_look(look, settle(look, values, {}), where, FRAME_SECONDS, LAST_FRAME, 0.7)
        texts.add(fuse(program.codes, program.n_pixel).text)
    assert len(texts) == 1


def test_large_blocks_are_drawn_by_the_loop_and_small_ones_without(
    places: Places, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = compiled_look(3, places)
    assert program is not None
    used: list[int] = []

    def spy(_fused: object, times: NDArray[np.int64], n_pixel: int, n_root: int) -> NDArray[np.uint8]:
        used.append(len(times))
        return np.zeros((len(times), n_pixel, n_root), np.uint8)

    monkeypatch.setattr("lampwright.look.program.run_fused", spy)
    enough = WORTH_COMPILING // places.n_pixel + 1
    program.frames(np.arange(10))
    program.frames(np.arange(enough))
    assert used == [enough]


def test_a_cache_that_can_not_be_written_only_costs_time(places: Places, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(loops, "kept_folder", lambda _name: None)
    loops.compiled.cache_clear()
    compare(range(5, 6), places)


def test_a_spoiled_file_in_the_cache_is_written_anew(places: Places, tmp_path: Path) -> None:
    loops.compiled.cache_clear()
    compare(range(7, 8), places)
    for file in tmp_path.rglob("*.py"):
        file.write_text("spoiled", encoding="utf-8")
    loops.compiled.cache_clear()
    compare(range(7, 8), places)
