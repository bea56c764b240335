"""Whatever a maker's file has become, the answer is a piece or a message, never a crash."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lampwright.layout import check_layout, lay_out
from lampwright.piece import Piece, piece_from_text
from lampwright.units import MakerError

EXAMPLE = (Path(__file__).parents[2] / "examples" / "frost-gate" / "frost-gate.toml").read_text(encoding="utf-8")
LINES = EXAMPLE.split("\n")
SHAPES = (Path(__file__).parent / "every_shape.toml").read_text(encoding="utf-8").split("\n")

SCRAPS = st.sampled_from(
    [
        '"',
        "'",
        "=",
        "[",
        "]",
        "{",
        "}",
        ",",
        ".",
        "#",
        "\n",
        "\t",
        "é",
        "❄",
        "\\",
        "0",
        "-",
        "next ",
        '"""',
        "[[",
        "\x00",
        "\r",
    ]
)
VALUES = st.sampled_from(
    [
        "3", "-1", "1.5", "nan", "inf", "true", '""', '"x"', '"10 min"', '"2 m"', '"#ffffff"', "[]", "[1, 2]", "{}",
        "{ a = 1 }", "[[]]", "2026-12-19", "2026-12-19T10:00:00", "07:32:00", '["0 m", "0 m", "0 m"]', '"arch"',
        '{ part = "ws2812b-60" }', '{ pattern = "ring" }',
        '{ pattern = "grid", count = [2, 2], step = ["1 m", "1 m"] }',
        '{ from = "crown", to = "previous crown" }', '{ part = 3 }', '{ "" = "" }', "9" * 30, "'''a\nb'''",
        '"= span"', '"= span / gap"', '"= 2 *"', '"span / 2"', '"="', '["= gap", "= 1 s", "= spam"]',
    ]
)  # fmt: skip

SHAPE_VALUES = st.sampled_from(
    [
        '"= reach"', '"= tall / 0"', '"= (tall"', '"0 m"', '"1 m"', '"-3 m"', '"90 deg"', '"360 deg"', "3", "0",
        '"force 9"', '"20 Pa"', '["1 m", "0 m"]', '[["0 m", "0 m", "0 m"], ["0 m", "0 m", "0 m"]]', '"= 5 * reach"',
        '"1 mm"', '"= tall / reach"', '{ pattern = "mirrored", across = "y" }', '"crook"', '"corner 1"', '"180 deg"',
        '{ pattern = "path", points = [["0 m", "0 m", "0 m"], ["0 m", "0 m", "4 m"]], count = 3 }', '"100 m"',
        '[{ on = "halo", zigzag = { width = "1 cm", pitch = "1 mm" } }]', '"1e-9 m"',
        '[{ on = "crook 1", zigzag = { to = "halo", pitch = "10 cm" } }]',
    ]
)  # fmt: skip


def answer(text: str) -> Piece | MakerError:
    try:
        return piece_from_text(text, Path("piece.toml"))
    except MakerError as error:
        return error


def assert_answered(text: str) -> None:
    result = answer(text)
    if isinstance(result, MakerError):
        assert result.problems
        assert "pydantic" not in result.render().lower()
        for problem in result.problems:
            assert problem.place is not None
            assert problem.do


@given(st.lists(st.tuples(st.integers(0, len(EXAMPLE)), st.integers(0, 6), SCRAPS), min_size=1, max_size=4))
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_scratches_in_the_text(scratches: list[tuple[int, int, str]]) -> None:
    text = EXAMPLE
    for start, length, scrap in scratches:
        text = text[:start] + scrap + text[start + length :]
    assert_answered(text)


@given(st.lists(st.tuples(st.integers(0, len(LINES) - 1), VALUES), min_size=1, max_size=4))
@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_values_of_another_sort(changes: list[tuple[int, str]]) -> None:
    lines = list(LINES)
    for number, value in changes:
        key, separator, _ = lines[number].partition(" = ")
        if separator:
            lines[number] = f"{key} = {value}"
    assert_answered("\n".join(lines))


@given(st.lists(st.tuples(st.integers(0, len(SHAPES) - 1), SHAPE_VALUES), min_size=1, max_size=2))
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_shapes_of_other_measures_are_laid_out_or_refused(changes: list[tuple[int, str]]) -> None:
    lines = list(SHAPES)
    for number, value in changes:
        key, separator, _ = lines[number].partition(" = ")
        if separator:
            lines[number] = f"{key} = {value}"
    result = answer("\n".join(lines))
    if isinstance(result, MakerError):
        assert_answered("\n".join(lines))
        return
    try:
        layout = lay_out(result)
    except MakerError as error:
        assert all(problem.place is not None for problem in error.problems)
    else:
        assert all(np.isfinite(circuit.xyz).all() for circuit in layout.circuits)
        assert all(finding.code for finding in check_layout(layout))


@given(st.permutations(range(len(LINES))), st.integers(1, len(LINES)))
@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_lines_lost_and_in_any_order(order: list[int], kept: int) -> None:
    assert_answered("\n".join(LINES[number] for number in order[:kept]))


@given(st.lists(st.integers(0, len(LINES) - 1), max_size=3))
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_lines_lost(lost: list[int]) -> None:
    assert_answered("\n".join(line for number, line in enumerate(LINES) if number not in lost))


@given(
    st.integers(1, 12),
    st.floats(0.5, 5.0),
    st.floats(0.0, 3.0),
    st.sampled_from([20, 25, 40, 50]),
    st.sampled_from(["repeat", "hold", "dark"]),
)
@settings(max_examples=40, deadline=None)
def test_valid_pieces_are_read(count: int, width: float, legs: float, rate: int, ending: str) -> None:
    text = (
        EXAMPLE.replace("count = 4", f"count = {count}")
        .replace('span = "2.4 m"', f'span = "{width:.3f} m"')
        .replace('legs = "1.4 m"', f'legs = "{legs:.3f} m"')
        .replace('"25 /s"', f'"{rate} /s"')
        .replace('ending = "repeat"', f'ending = "{ending}"')
    )
    piece = piece_from_text(text, Path("piece.toml"))
    assert len(piece.circuits) == count
    assert sum(len(circuit.runs) for circuit in piece.circuits) == 2 * count - 1
    assert piece.show.frame_period == 1 / rate
    assert piece.show.ending.value == ending


def test_brackets_without_end_are_told_as_such() -> None:
    error = answer("x = " + "[" * 3000)
    assert isinstance(error, MakerError)
    assert error.problems[0].summary == "lists or tables stand within each other too deeply"


PACK_LINES = (
    "packs = 2",
    'joined = "ideal diode"',
    'diode = "diode-1n5401"',
    'port = "usb-c-3a"',
    "pack_cycles = 120",
    'other_ports = "0.5 A"',
    'keep_awake = "47 ohm"',
)


@given(st.lists(st.sampled_from(PACK_LINES), unique=True), st.dictionaries(st.integers(0, 6), VALUES, max_size=2))
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_packs_in_every_combination(chosen: list[str], changes: dict[int, str]) -> None:
    lines = [
        f"{line.partition(' = ')[0]} = {changes[number]}" if number in changes else line
        for number, line in enumerate(chosen)
    ]
    assert_answered(EXAMPLE.replace("\nboard = ", "\n" + "\n".join([*lines, "board = "]), 1))
