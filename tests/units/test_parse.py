"""Reading quantities: what a maker says must come out as what they meant, or as a message they can act on."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.units import KINDS, Kind, UnitError, format_quantity, parse, parse_any, unit_table
from lampwright.units.table import Unit


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("8 ft", "length", 2.4384),
        ("8 ft 6 in", "length", 2.5908),
        ("8' 6\"", "length", 2.5908),
        ("8'6\"", "length", 2.5908),
        ("1 1/2 in", "length", 0.0381),
        ("3/4 in", "length", 0.01905),
        ("2.4 m", "length", 2.4),
        ("35 cm", "length", 0.35),
        (" 35cm ", "length", 0.35),
        ("60 /m", "density", 60.0),
        ("10 min", "time", 600.0),
        ("1 h 30 min", "time", 5400.0),
        ("25 ms", "time", 0.025),
        ("20 Ah", "charge", 72000.0),
        ("2200 mAh", "charge", 7920.0),
        ("0.16 ohm/m", "linear resistance", 0.16),
        ("1000 µF", "capacitance", 0.001),
        ("70 g/m", "linear mass", 0.07),
        ("-3 degC", "temperature", 270.15),
        ("−3 °C", "temperature", 270.15),
        ("270 K", "temperature", 270.0),
        ("32 degF", "temperature", 273.15),
        ("25 km/h", "speed", 25 / 3.6),
        ("80 %", "share", 0.8),
        ("50 ppm", "share", 5e-5),
        ("0.2 Hz", "rate", 0.2),
        ("40 /s", "rate", 40.0),
        ("30 deg", "angle", math.pi / 6),
        ("0.1 turn", "angle", math.tau / 10),
        ("0.75 mm2", "area", 7.5e-7),
        ("16 MHz", "frequency", 16e6),
        ("2 KiB", "memory", 2048.0),
        ("1e3 mm", "length", 1.0),
    ],
)
def test_spoken_quantities_come_out_in_si(text: str, kind: Kind, value: float) -> None:
    assert parse(text, kind) == pytest.approx(value, rel=1e-15)


def test_a_decimal_is_rounded_only_once() -> None:
    assert parse("35 cm", "length") == 0.35
    assert parse("0.1 mm", "length") == 0.0001
    assert parse("1 ft 1 in", "length") == 0.3302


@pytest.mark.parametrize(
    ("text", "kind", "marked", "message"),
    [
        (
            "10",
            "time",
            "10",
            'error UNIT-001: "10" has no unit\nfound:   "10"\nallowed: a time, such as "10 min"\n'
            'do:      write the unit too, such as "10 min"   (lampwright explain UNIT-001)',
        ),
        (
            "8 ft 6",
            "length",
            "6",
            'error UNIT-001: "6" has no unit\nfound:   "8 ft 6"\nallowed: a length, such as "2.4 m"\n'
            'do:      write the unit too, such as "8 ft 6 in"   (lampwright explain UNIT-001)',
        ),
        (
            "10 minits",
            "time",
            "minits",
            'error UNIT-002: "minits" is not a known unit\nfound:   "10 minits"\nallowed: a time, such as "10 min"\n'
            'do:      did you mean "min"? Write "10 min"   (lampwright explain UNIT-002)',
        ),
        (
            "2.4 M",
            "length",
            "M",
            'error UNIT-002: "M" is not a known unit\nfound:   "2.4 M"\nallowed: a length, such as "2.4 m"\n'
            'do:      did you mean "m"? Write "2.4 m"   (lampwright explain UNIT-002)',
        ),
        (
            "10 m",
            "time",
            "m",
            'error UNIT-003: "m" is the unit of a length; a time is meant here\nfound:   "10 m"\n'
            'allowed: a time, such as "10 min"\n'
            'do:      write a time, such as "10 min"   (lampwright explain UNIT-003)',
        ),
        (
            "ten minutes",
            "time",
            "ten minutes",
            'error UNIT-004: "ten minutes" is not a number with a unit\nfound:   "ten minutes"\n'
            'allowed: a time, such as "10 min"\n'
            'do:      begin with a number in digits, then its unit, such as "10 min"   (lampwright explain UNIT-004)',
        ),
        (
            "10,000 mAh",
            "charge",
            "10,000 mAh",
            'error UNIT-004: "10,000 mAh" is not a number with a unit\nfound:   "10,000 mAh"\n'
            'allowed: a charge, such as "20 Ah"\ndo:      write numbers in digits with a point and without commas, '
            'such as "20 Ah"   (lampwright explain UNIT-004)',
        ),
        (
            "6 in 8 ft",
            "length",
            "ft",
            'error UNIT-005: "ft" comes after "in", which is not larger\nfound:   "6 in 8 ft"\n'
            'allowed: a length, such as "2.4 m"\n'
            'do:      write the larger unit first, such as "8 ft 6 in"   (lampwright explain UNIT-005)',
        ),
        (
            "5 degC 3 degC",
            "temperature",
            "degC",
            'error UNIT-005: "degC" can\'t follow another unit\nfound:   "5 degC 3 degC"\n'
            'allowed: a temperature, such as "-5 degC"\n'
            "do:      write one number and one unit   (lampwright explain UNIT-005)",
        ),
    ],
)
def test_a_slip_is_marked_and_the_way_out_named(text: str, kind: Kind, marked: str, message: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse(text, kind)
    assert caught.value.render() == message
    assert text[caught.value.start : caught.value.start + caught.value.length] == marked


@pytest.mark.parametrize(
    "text", ["", " ", "m", "1/0 in", "1e999 m", "9" * 90 + " m", "1 h x", "nan m", "inf m", "1 1/ m"]
)
def test_nonsense_is_refused_with_a_message(text: str) -> None:
    with pytest.raises(UnitError):
        parse(text, "length")


def test_any_kind_can_be_read_where_the_look_decides() -> None:
    assert parse_any("0.2 /s") == (0.2, "rate")
    assert parse_any("35 cm") == (0.35, "length")
    assert parse_any("1 h 30 min") == (5400.0, "time")
    with pytest.raises(UnitError) as caught:
        parse_any("2 m 3 s")
    assert caught.value.problem.summary == '"s" is the unit of a time; a length is meant here'


def outcome(text: str, kind: Kind | None) -> float | UnitError:
    try:
        return parse_any(text)[0] if kind is None else parse(text, kind)
    except UnitError as error:
        return error


def assert_read_or_explained(text: str, kind: Kind | None) -> None:
    result = outcome(text, kind)
    if isinstance(result, UnitError):
        assert result.problem.do
        assert result.length >= 1
        assert 0 <= result.start <= len(text)
    else:
        assert math.isfinite(result)


@given(st.text(max_size=30), st.sampled_from(KINDS))
def test_no_text_breaks_the_reader(text: str, kind: Kind) -> None:
    assert_read_or_explained(text, kind)


@given(
    st.lists(
        st.sampled_from([*unit_table().by_spelling, "1", "2.5", " ", "-", "1/2", "e", ".", ",", "/"]), max_size=7
    ).map("".join),
    st.sampled_from([None, *KINDS]),
)
def test_no_heap_of_units_and_numbers_breaks_the_reader(text: str, kind: Kind | None) -> None:
    assert_read_or_explained(text, kind)


@given(st.sampled_from(unit_table().units), st.decimals("0.001", "1000", places=3))
def test_every_spelling_of_a_unit_reads_the_same(unit: Unit, number: Decimal) -> None:
    for kind in unit.kinds:
        assert len({parse(f"{number} {spelling}", kind) for spelling in unit.spellings}) == 1


def test_no_two_units_share_a_spelling() -> None:
    spellings = [text for unit in unit_table().units for text in unit.spellings]
    assert len(spellings) == len(set(spellings))


@pytest.mark.parametrize("kind", KINDS)
def test_the_example_of_each_kind_can_be_read(kind: Kind) -> None:
    assert math.isfinite(parse(unit_table().kinds[kind].example, kind))


@given(st.sampled_from(KINDS), st.floats(1e-6, 1e6), st.integers(3, 9), st.sampled_from([1, -1]))
def test_what_is_printed_reads_back_within_its_last_digit(kind: Kind, size: float, digits: int, sign: int) -> None:
    value = sign * size
    if kind == "temperature":
        assert parse(format_quantity(value, kind, digits), kind) == pytest.approx(
            value, abs=0.51 * 10.0 ** (2 - digits)
        )
    else:
        text = format_quantity(value, kind, digits)
        assert parse(text, kind) == pytest.approx(value, rel=0.501 * 10.0 ** (1 - digits))


@pytest.mark.parametrize(
    ("value", "kind", "text"),
    [
        (2.4384, "length", "2.44 m"),
        (0.35, "length", "35 cm"),
        (0.00694, "length", "6.94 mm"),
        (0.0, "length", "0 m"),
        (0.025, "time", "25 ms"),
        (60.0, "time", "1 min"),
        (90.0, "time", "90 s"),
        (5400.0, "time", "1 h 30 min"),
        (5432.4, "time", "1 h 30 min 32 s"),
        (3599.6, "time", "1 h"),
        (72000.0, "charge", "20 Ah"),
        (1.92, "current", "1.92 A"),
        (0.105, "current", "105 mA"),
        (1234.4, "current", "1234 A"),
        (268.15, "temperature", "-5 degC"),
        (0.8, "share", "80 %"),
        (40.0, "rate", "40 /s"),
        (16e6, "frequency", "16 MHz"),
        (0.001, "capacitance", "1000 uF"),
        (0.02095, "linear resistance", "20.9 mohm/m"),
        (133200.0, "energy", "37 Wh"),
        (2048.0, "memory", "2048 byte"),
    ],
)
def test_quantities_print_in_the_unit_a_maker_would_say(value: float, kind: Kind, text: str) -> None:
    assert format_quantity(value, kind) == text
