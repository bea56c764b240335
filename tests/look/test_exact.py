"""What a maker sees is what the chip sends: every back-end to the last bit, no value outside its proof."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.look import Places, Program, compile_look, read_look, settle
from lampwright.look.run import evaluate, in_order
from lampwright.show.compile import library_names, library_text
from lampwright.units import MakerError
from tests.look.conftest import FRAME_SECONDS, LAST_FRAME
from tests.look.native import run_native
from tests.look.random_looks import random_look

CI_LOOKS = 300
SWEEP_LOOKS = 20_000


def _compile(text: str, places: Places) -> Program | None:
    """Return a random look compiled, or ``None`` where it is refused for a good reason."""
    try:
        look = read_look(text, "random", "random.look")
        return compile_look(look, settle(look, {}, {}), places, FRAME_SECONDS, LAST_FRAME, 0.7)
    except MakerError as error:
        assert {p.code for p in error.problems} <= {"LOOK-005", "LOOK-006", "LOOK-007"}
        return None


def _times(seed: int, count: int) -> np.ndarray:
    inner = np.random.default_rng(seed).integers(0, LAST_FRAME + 1, count - 2)
    return np.sort(np.concatenate([[0, LAST_FRAME], inner]))


def _compare(seeds: range, places: Places, folder: Path) -> int:
    programs = {seed: program for seed in seeds if (program := _compile(random_look(seed), places))}
    times = _times(seeds.start, 20)
    sent = run_native(list(programs.values()), times, folder)
    for (seed, program), native in zip(programs.items(), sent, strict=True):
        np.testing.assert_array_equal(program.frames(times), native, err_msg=f"seed {seed}:\n{random_look(seed)}")
    return len(programs)


def test_random_looks_are_the_same_in_numpy_and_cpp(places: Places, tmp_path: Path) -> None:
    compared = sum(_compare(range(start, start + 100), places, tmp_path) for start in range(0, CI_LOOKS, 100))
    assert compared > 0.95 * CI_LOOKS


@pytest.mark.slow
def test_many_random_looks_are_the_same_in_numpy_and_cpp(places: Places, tmp_path: Path) -> None:
    sweep = range(CI_LOOKS, CI_LOOKS + SWEEP_LOOKS, 200)
    compared = sum(_compare(range(start, start + 200), places, tmp_path) for start in sweep)
    assert compared > 0.95 * SWEEP_LOOKS


@given(st.integers(min_value=10**6, max_value=10**9))
@settings(max_examples=150, deadline=None)
def test_no_value_ever_leaves_the_range_proven_for_it(places: Places, seed: int) -> None:
    program = _compile(random_look(seed), places)
    if program is None:
        return
    for node, values in evaluate(in_order(program.codes), _times(seed, 30)).items():
        assert node.low <= values.min(), (node.operation, random_look(seed))
        assert values.max() <= node.high, (node.operation, random_look(seed))


def test_library_looks_are_the_same_in_numpy_and_cpp_over_ten_thousand_samples(places: Places, tmp_path: Path) -> None:
    looks = [read_look(library_text(name), name, name) for name in library_names()]
    programs = [compile_look(look, settle(look, {}, {}), places, FRAME_SECONDS, LAST_FRAME, 0.7) for look in looks]
    times = _times(1, 300)
    assert len(times) * places.n_pixel > 10_000
    for program, native in zip(programs, run_native(programs, times, tmp_path), strict=True):
        np.testing.assert_array_equal(program.frames(times), native, err_msg=program.look.name)


def test_a_frame_doesnt_depend_on_which_others_are_drawn_with_it(compiled: Callable[..., Program]) -> None:
    program = compiled('colour = "#ffffff" * noise(along * 3, time) * dice(1, time * 2)')
    times = np.arange(5000, 5400)
    alone = np.concatenate([program.frames(np.array([t])) for t in times[::40]])
    np.testing.assert_array_equal(program.frames(times)[::40], alone)
