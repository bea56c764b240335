"""What a maker sees is what the chip sends: every back-end to the last bit, no value outside its proof."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.look import Change, CueTime, Drive, Places, Program, compile_look, js, read_look, settle
from lampwright.look.run import evaluate, in_order
from lampwright.look.whole import MEANINGS
from lampwright.show.compile import library_names, library_text
from lampwright.units import MakerError
from tests.look.chip_run import run_chip
from tests.look.conftest import FRAME_SECONDS, LAST_FRAME
from tests.look.native_run import run_native
from tests.look.node_run import run_node
from tests.look.random_looks import random_look

CI_LOOKS, SWEEP_LOOKS = 500, 20_000
BATCH = 100
"""Looks that share one program of this computer and one of Node."""


DRIVES = (Drive(0.7), Drive(0.7, (1.0, 0.85, 0.6), is_dithered=True))
"""Plain steps, and dithered ones with a balanced white."""

CUE_TIMES = (CueTime(LAST_FRAME * FRAME_SECONDS), CueTime(LAST_FRAME * FRAME_SECONDS, 1.3))
"""In time with the cue, and behind it."""


def _compile(seed: int, places: Places) -> Program | None:
    """Return a random look compiled, or ``None`` where it is refused for a good reason."""
    try:
        look = read_look(random_look(seed), "random", "random.look")
        drive, cue_time = DRIVES[seed % 2], CUE_TIMES[seed % 3 == 0]
        return compile_look(look, settle(look, {}, {}), places, FRAME_SECONDS, LAST_FRAME, drive, cue_time)
    except MakerError as error:
        assert {p.code for p in error.problems} <= {"LOOK-005", "LOOK-006", "LOOK-007"}
        return None


def _times(seed: int, count: int) -> np.ndarray:
    inner = np.random.default_rng(seed).integers(0, LAST_FRAME + 1, count - 2)
    return np.sort(np.concatenate([[0, LAST_FRAME], inner]))


def _held_in_range(program: Program, times: np.ndarray, text: str) -> np.ndarray:
    """Return the codes that numpy works out, once every value was seen to keep to its proven range."""
    values = evaluate(in_order(program.codes), times)
    for node, every in values.items():
        assert node.low <= every.min(), (node.operation, text)
        assert every.max() <= node.high, (node.operation, text)
    shape = (len(times), program.n_pixel)
    return np.stack([np.broadcast_to(values[code], shape) for code in program.codes], axis=-1)


def _compare(seeds: range, places: Places, folder: Path) -> int:
    """Hold every back-end's codes of some random looks against numpy's; return how many looks they were."""
    programs = {seed: program for seed in seeds if (program := _compile(seed, places))}
    times = _times(seeds.start, 20)
    plans = [program.plan("look") for program in programs.values()]
    sent = [back_end(plans, times, folder) for back_end in (run_native, run_node, run_chip)]
    for (seed, program), *codes in zip(programs.items(), *sent, strict=True):
        text = f"seed {seed}:\n{random_look(seed)}"
        meant = _held_in_range(program, times, text)
        for name, these in zip(("C++", "JavaScript", "the chip"), codes, strict=True):
            np.testing.assert_array_equal(these, meant, err_msg=f"{name}, {text}")
    return len(programs)


def _compare_all(first: int, count: int, places: Places, folder: Path) -> None:
    starts = range(first, first + count, BATCH)
    compared = sum(_compare(range(start, start + BATCH), places, folder) for start in starts)
    assert compared > 0.95 * count


@pytest.mark.parametrize("part", range(5))
def test_random_looks_are_the_same_in_numpy_cpp_javascript_and_on_the_chip(
    part: int, places: Places, tmp_path: Path
) -> None:
    _compare_all(part * CI_LOOKS // 5, CI_LOOKS // 5, places, tmp_path)


SWEEP_PARTS = [*range(3), *(pytest.param(part, marks=pytest.mark.long) for part in range(3, 20))]


@pytest.mark.slow
@pytest.mark.parametrize("part", SWEEP_PARTS)
def test_many_random_looks_are_the_same_everywhere(part: int, places: Places, tmp_path: Path) -> None:
    """All 20,000 go through numpy, the host's C++, JavaScript and the chip's own C++ on the emulated chip.

    3,000 of them wherever slow tests run; the rest takes about 5 min more on two cores and runs by "make sweep".
    """
    _compare_all(CI_LOOKS + part * SWEEP_LOOKS // 20, SWEEP_LOOKS // 20, places, tmp_path)


@given(st.integers(min_value=10**6, max_value=10**9))
@settings(max_examples=150, deadline=None)
def test_no_value_ever_leaves_the_range_proven_for_it(places: Places, seed: int) -> None:
    program = _compile(seed, places)
    if program is not None:
        _held_in_range(program, _times(seed, 30), random_look(seed))


@pytest.mark.parametrize("drive", DRIVES, ids=["plain", "dithered"])
def test_library_looks_are_the_same_everywhere_over_ten_thousand_samples(
    drive: Drive, places: Places, tmp_path: Path
) -> None:
    looks = [read_look(library_text(name), name, name) for name in library_names()]
    programs = [compile_look(look, settle(look, {}, {}), places, FRAME_SECONDS, LAST_FRAME, drive) for look in looks]
    times = _times(1, 300)
    assert len(times) * places.n_pixel > 10_000
    _compare_everywhere(programs, times, tmp_path)


def test_library_looks_are_the_same_everywhere_while_their_settings_change(places: Places, tmp_path: Path) -> None:
    programs = []
    for name in library_names():
        look = read_look(library_text(name), name, name)
        numbers = {setting.name: setting.default for setting in look.settings.values() if not setting.is_colour}
        changes = {n: Change(v, (v + look.settings[n].most) / 2) for n, v in numbers.items() if isinstance(v, float)}
        try:
            settings = settle(look, changes, {})
            programs.append(compile_look(look, settings, places, FRAME_SECONDS, LAST_FRAME, DRIVES[0], CUE_TIMES[1]))
        except MakerError:
            continue  # a setting that this look needs steady
    assert len(programs) > 0.6 * len(library_names())
    _compare_everywhere(programs, _times(2, 60), tmp_path)


def _compare_everywhere(programs: Sequence[Program], times: np.ndarray, folder: Path) -> None:
    plans = [program.plan("look") for program in programs]
    for back_end in (run_native, run_node, run_chip):
        for program, sent in zip(programs, back_end(plans, times, folder), strict=True):
            message = f"{program.look.name} by {back_end.__name__}"
            np.testing.assert_array_equal(sent, program.frames(times), err_msg=message)


def test_a_frame_doesnt_depend_on_which_others_are_drawn_with_it(compiled: Callable[..., Program]) -> None:
    program = compiled('colour = "#ffffff" * noise(along * 3, time) * dice(1, time * 2)')
    times = np.arange(5000, 5400)
    alone = np.concatenate([program.frames(np.array([t])) for t in times[::40]])
    np.testing.assert_array_equal(program.frames(times)[::40], alone)


@pytest.mark.parametrize("speed", [0.1, 0.37, -0.37, -25, 19.99, 0.0003])
def test_a_night_long_cue_keeps_its_turns_everywhere(
    speed: float, compiled: Callable[..., Program], tmp_path: Path
) -> None:
    night = round(14 * 3600 / FRAME_SECONDS)
    text = f"colour = light(fraction(time * {speed}), swell(time * {speed} + along), dice(1, time * {speed}))"
    program = compiled(text, last_frame=night)
    times = np.concatenate([np.arange(3), np.random.default_rng(3).integers(0, night, 60), [night - 1, night]])
    _compare_everywhere([program], times, tmp_path)


def test_a_value_called_like_a_table_a_type_or_a_word_of_another_language_breaks_nothing(
    compiled: Callable[..., Program], tmp_path: Path
) -> None:
    names = """sine_table shuffle_table swell_steps_table_2 blend_table look_0_dice_table uint8_t int16_t PORTB DDRB
        Math Uint8Array undefined NaN Infinity arguments eval this self new function var let debugger extends
        put i t pgm_read_byte PROGMEM curve bump blend scramble clock main codes times look_0 _x __y UINT8_MAX INT
        high_product static int register int_ größe""".split()
    values = [f"{name} = 0.01 * swell(time / {k + 3} + noise(along + time))" for k, name in enumerate(names)]
    sums = [f"sum_{k} = {' + '.join(names[k : k + 25])}" for k in range(0, len(names), 25)]
    total = " + ".join(text.split(" = ")[0] for text in sums)
    program = compiled(
        "\n".join([*values, *sums, f"colour = light({total}, dice(1, time) * ({total}), sine({total}))"])
    )
    _compare_everywhere([program], _times(4, 10), tmp_path)


def test_no_text_of_a_look_gets_out_of_its_comment_in_the_page(compiled: Callable[..., Program]) -> None:
    text = (
        '"""Title */ \\\\"""\ntint = setting("#ffffff", help="one\\nalert(1)\\r\\u2028 alert(1) \\\\")\n'
        "größe = noise(time)\ncolour = tint * größe\n"
    )
    source = compiled(text).javascript("look")
    assert "\\" not in source
    assert source.isascii()
    assert all(line.startswith("// ") for line in source.splitlines() if "alert" in line)


def test_every_operation_can_be_written_as_javascript() -> None:
    assert set(js.PRINT) == set(MEANINGS) | {"clock", "pixel", "look up", "curve"}
