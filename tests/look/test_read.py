"""A maker's slip in a look is named at its place; a hostile text gets nowhere."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.look import CueTime, Program, TablePool, read_look, settle
from lampwright.look.build import build
from lampwright.units import MakerError, Place

LOOK = '''"""Test."""
tint = setting("#bfe0ff", help="colour")
pace = setting(0.5, least=0.1, most=2, unit="/s", help="how fast")
colour = tint * swell(time * pace)
'''


def _message(text: str, compile_text: Callable[..., object] | None = None) -> str:
    read = compile_text or (lambda text: read_look(text, "my", "looks/my.look"))
    with pytest.raises(MakerError) as caught:
        read(text)
    return str(caught.value)


def test_an_unknown_name_is_shown_with_the_nearest_one(compiled: Callable[..., Program]) -> None:
    assert _message('level = swell(time)\ncolour = "#ffffff" * levle\n', compiled) == (
        'test.look:2:22: error LOOK-002: unknown name "levle"\n'
        '    2 | colour = "#ffffff" * levle\n'
        "      |                      ^^^^^\n"
        'found:   "levle"\n'
        "allowed: inputs: time, along, height, x, y, z, pixel, section, member, circuit, pixels; this look's settings; "
        "names given above\n"
        'do:      did you mean "level"?   (lampwright explain LOOK-002)'
    )


def test_an_import_is_refused_at_its_line() -> None:
    assert _message('colour = "#ffffff"\nimport os\n') == (
        "looks/my.look:2:1: error LOOK-001: a look is a list of named values\n"
        "    2 | import os\n"
        "      | ^^^^^^^^^\n"
        "found:   import\n"
        'allowed: names, numbers, hex colours, + - * /, comparisons, "and", "or", "not", and calls of the functions '
        "of a look\n"
        'do:      write it as "name = value", or leave it out   (lampwright explain LOOK-001)'
    )


def test_a_number_given_as_colour_is_refused(compiled: Callable[..., Program]) -> None:
    assert _message("colour = noise(along)\n", compiled) == (
        'test.look:1:10: error LOOK-004: "colour" has to be a colour\n'
        "    1 | colour = noise(along)\n"
        "      |          ^^^^^^^^^^^^\n"
        "found:   a number\n"
        'allowed: a colour, such as "#bfe3ff" * level\n'
        "do:      multiply a colour by this number   (lampwright explain LOOK-004)"
    )


def test_a_divisor_that_can_be_zero_is_refused_with_its_range(compiled: Callable[..., Program]) -> None:
    message = _message('colour = "#ffffff" * (1 / (time - 3))\n', compiled)
    assert message.splitlines()[0] == "test.look:1:23: error LOOK-005: this divides by something that can be zero"
    assert "found:   a divisor from -3 to 897" in message


def test_a_value_too_large_for_the_chip_is_refused(compiled: Callable[..., Program]) -> None:
    message = _message('colour = "#ffffff" * min(time * time * time * 1000, 1)\n', compiled)
    assert "error LOOK-006: this value grows too large for the chip" in message


def test_a_value_lost_in_rounding_is_refused(compiled: Callable[..., Program]) -> None:
    message = _message("level = swell(time) + 0.0000001 * dice(1)\ncolour = light(level, level, level)\n", compiled)
    assert "error LOOK-007: this value is too small for the chip to tell from zero" in message


def test_every_wrong_line_is_named_at_once(compiled: Callable[..., Program]) -> None:
    message = _message('a = nois(time)\nb = swell()\nc = a + b\ncolour = "#12345" * c\n', compiled)
    assert [line.split(":")[1] for line in message.splitlines() if "error LOOK" in line] == ["1", "2", "4"]


def test_columns_count_characters_not_bytes(compiled: Callable[..., Program]) -> None:
    message = _message('"""Größe: naïve."""\ncolour = light(0, 0, tïme)\n', compiled)
    assert message.startswith('test.look:2:22: error LOOK-002: unknown name "tïme"')


@pytest.mark.parametrize(
    "text",
    [
        "colour = __import__('os').system('true')",
        "colour = ().__class__.__bases__",
        "colour = open('/etc/passwd')",
        "colour = [x for x in ()]",
        "colour = lambda: 1",
        "colour = eval('1')",
        "colour = 9 ** 9 ** 9 ** 9",
        "colour = f'{time}'",
        "colour = time.real",
        "colour = " + "(" * 3000 + "1" + ")" * 3000,
        "colour = " + "-" * 5000 + "1",
        "colour = " + "+".join(["noise(time)"] * 600),
        "colour = 1e999",
        "colour = True",
        "while 1: pass",
        "def colour(): pass",
        "\x00",
        "colour = 1j",
        "x" * 9000,
    ],
)
def test_nothing_but_the_look_language_gets_through(text: str, compiled: Callable[..., Program]) -> None:
    with pytest.raises(MakerError):
        compiled(text)


@given(st.text(max_size=200))
def test_no_text_brings_anything_but_a_clear_message(compiled: Callable[..., Program], text: str) -> None:
    try:
        compiled(text)
    except MakerError as error:
        assert str(error)


@given(st.lists(st.sampled_from([*"()+-*/<=,.#'\" \n0123", "colour", "time", "noise", "setting", "choose", "not "])))
def test_no_shuffle_of_signs_brings_anything_but_a_clear_message(
    compiled: Callable[..., Program], parts: list[str]
) -> None:
    try:
        compiled("colour = " + "".join(parts))
    except MakerError as error:
        assert str(error)


def test_settings_of_a_cue_are_checked_against_the_look() -> None:
    look = read_look(LOOK, "my", "my.look")
    place = Place("piece.toml", 9, 16, 5, 'set = { pace = "5 m" }')
    with pytest.raises(MakerError) as caught:
        settle(look, {"pace": "5 m", "hue": 3.0}, {"pace": place})
    assert str(caught.value) == (
        'piece.toml:9:16: error LOOK-008: setting "pace" can\'t take this value\n'
        '    9 | set = { pace = "5 m" }\n'
        "      |                ^^^^^\n"
        'found:   "5 m"\n'
        "allowed: 0.1 to 2 /s\n"
        'do:      write pace = "0.5 /s"   (lampwright explain LOOK-008)\n'
        "\n"
        'error LOOK-008: look "my" has no setting "hue"\n'
        'found:   "hue"\n'
        'allowed: its settings: "tint", "pace"\n'
        "do:      use one of these names, or leave it out   (lampwright explain LOOK-008)"
    )


def test_a_setting_given_in_its_unit_is_taken() -> None:
    look = read_look(LOOK, "my", "my.look")
    assert settle(look, {"pace": "1.5 /s", "tint": "#ff0000"}, {}) == {"pace": 1.5, "tint": "#ff0000"}


def test_no_text_of_a_look_gets_out_of_its_comment_in_the_firmware(compiled: Callable[..., Program]) -> None:
    text = (
        '"""Title \\\\"""\ntint = setting("#ffffff", help="one\\n#include <evil>\\r\\u2028 \\\\")\n'
        "größe = noise(time)\nclass_ = größe * noise(along + time)\ncolour = tint * größe * class_\n"
    )
    source = compiled(text).cpp("look", TablePool())
    assert "\\" not in source
    assert source.isascii()
    assert all(line.startswith("// ") for line in source.splitlines() if "evil" in line)


def test_a_value_squared_over_and_over_is_refused(compiled: Callable[..., Program]) -> None:
    squares = "".join(f"v{n + 1} = v{n} * v{n}\n" for n in range(14))
    assert "error LOOK-006" in _message(f"v0 = time + 2\n{squares}colour = light(v14, 0, 0)\n", compiled)


def test_a_number_beyond_32_bits_is_called_too_large_not_unknown() -> None:
    assert _message('level = 1e9\ncolour = "#ffffff" * min(level, 1)\n') == (
        "looks/my.look:1:9: error LOOK-006: this number is too large for the chip\n"
        "    1 | level = 1e9\n"
        "      |         ^^^\n"
        "found:   1e9\n"
        "allowed: numbers below 1e9\n"
        "do:      write a smaller number; a value that has to pass 1 can be held there with min()"
        "   (lampwright explain LOOK-006)"
    )


@pytest.mark.parametrize("number", ["1e999", "-5000000000", "0x" + "f" * 5000])
def test_no_number_is_too_large_to_be_refused(number: str) -> None:
    assert "error LOOK-006: this number is too large for the chip" in _message(f"colour = light({number}, 0, 0)\n")


def _with_settings(count: int) -> str:
    settings = [f'part_{n} = setting(0.5, least=0, most=1, help="part {n}")' for n in range(count)]
    return "\n".join([*settings, f"colour = light({' + '.join(f'part_{n}' for n in range(count))}, 0, 0)"])


def test_more_settings_than_a_maker_can_keep_apart_are_refused_at_the_first_one_too_many() -> None:
    assert len(read_look(_with_settings(16), "my", "looks/my.look").settings) == 16
    line = 'part_16 = setting(0.5, least=0, most=1, help="part 16")'
    assert _message(_with_settings(18)) == (
        "looks/my.look:17:1: error LOOK-010: the look has too many settings\n"
        f"   17 | {line}\n"
        f"      | {'^' * len('part_16')}\n"
        "found:   18 settings\n"
        "allowed: at most 16 settings\n"
        'do:      write those that no cue changes as plain values, such as "width = 0.3"'
        "   (lampwright explain LOOK-010)"
    )


def test_a_setting_can_not_take_the_name_of_an_input_or_a_function() -> None:
    settings = [f'{name} = setting(1, least=0, most=2, help="low")' for name in ("pace", "wave", "floor")]
    look = read_look("\n".join([*settings, "colour = light(wave, wave, wave)"]), "my", "looks/my.look")
    with pytest.raises(MakerError) as caught:
        build(look, {"pace": 1.0, "wave": 1.0, "floor": 1.0}, CueTime(10.0))
    assert caught.value.render() == (
        'looks/my.look:3:1: error LOOK-003: "floor" has a meaning already\n'
        '    3 | floor = setting(1, least=0, most=2, help="low")\n'
        "      | ^^^^^\n"
        'found:   "floor"\n'
        "allowed: a name of your own\n"
        "do:      choose another name   (lampwright explain LOOK-003)"
    )
