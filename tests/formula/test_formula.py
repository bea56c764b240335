"""A formula that is worked out wrongly is tube cut to the wrong length, and nobody looks at it again."""

from __future__ import annotations

import math
import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.formula import Amount, FormulaError, is_formula, reserved_names, work_out
from lampwright.units import KINDS, format_quantity, parse, unit_table

MEASURES = {
    "span": work_out("= 2.4 m", {}.__getitem__, ()),
    "gap": work_out("= 5 ft 11 in", {}.__getitem__, ()),
    "lap": work_out("= 20 s", {}.__getitem__, ()),
    "n": work_out("= 7", {}.__getitem__, ()),
    "cold": work_out("= -5 degC", {}.__getitem__, ()),
}


def amount(text: str) -> Amount:
    return work_out(text, MEASURES.__getitem__, MEASURES)


NUMBERS = st.one_of(st.integers(0, 99).map(str), st.integers(0, 999).map(lambda n: f"{n // 10}.{n % 10}"))


def _joined(parts: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    pair = st.tuples(parts, st.sampled_from([" + ", " - ", " * ", " / ", "*", "+", " - -"]), parts).map("".join)
    return pair | parts.map(lambda text: f"({text})") | parts.map(lambda text: f"-({text})")


SUMS = st.recursive(NUMBERS, _joined, max_leaves=10)


def exact_value(text: str) -> Fraction:
    """Python's own reading of the same text: the outside reference for what binds tighter than what."""
    return Fraction(eval(re.sub(r"\d+(?:\.\d+)?", lambda found: f'Fraction("{found.group()}")', text)))


@given(SUMS)
def test_plain_sums_are_what_python_makes_of_them(text: str) -> None:
    try:
        expected = exact_value(text)
    except ZeroDivisionError:
        with pytest.raises(FormulaError) as caught:
            amount(f"= {text}")
        assert caught.value.problem.code == "MEASURE-005"
        return
    if abs(expected) < 1e12 and len(text) < 190:
        assert amount(f"= {text}").value == pytest.approx(float(expected), rel=1e-12, abs=1e-12)


@given(st.sampled_from(KINDS), st.integers(1, 10**6), st.data())
def test_a_quantity_alone_is_what_it_is_without_a_formula(kind: str, thousandths: int, data: st.DataObject) -> None:
    unit = data.draw(st.sampled_from(unit_table().of_kind(kind)))  # type: ignore[arg-type]
    text = f"{thousandths / 1000} {data.draw(st.sampled_from(unit.spellings))}"
    worked = amount(f"= {text}")
    assert worked.is_of(kind)  # type: ignore[arg-type]
    assert worked.value == pytest.approx(parse(text, kind), rel=1e-15)  # type: ignore[arg-type]


@given(st.floats(0.01, 90.0), st.floats(0.01, 90.0), st.integers(1, 30))
def test_lengths_in_feet_and_metres_add_up_as_in_metres(metres: float, feet: float, count: int) -> None:
    text = f"= ({metres:.4f} m + {feet:.4f} ft) / {count}"
    expected = (float(f"{metres:.4f}") + float(f"{feet:.4f}") * 0.3048) / count
    assert amount(text).value == pytest.approx(expected, rel=1e-14)


@given(st.sampled_from([kind for kind in KINDS if kind not in ("temperature", "angle")]), st.floats(1e-6, 1e6))
def test_what_is_multiplied_and_divided_again_is_the_same(kind: str, value: float) -> None:
    text = format_quantity(value, kind, 6)  # type: ignore[arg-type]
    assert amount(f"= span * ({text}) / span").value == parse(text, kind)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "value", "spoken"),
    [
        ("= span / 2 + 10 cm", 1.3, "1.3 m"),
        ("=span/2", 1.2, "1.2 m"),
        ("= 8 ft 6 in - 6 in", 8 * 0.3048, "2.4384 m"),
        ("= 1/2 in", 0.0127, "12.7 mm"),
        ("= 1 1/2 in * 2", 0.0762, "7.62 cm"),
        ("= span/1/2", 1.2, "1.2 m"),
        ("= span × 2 − 1 m", 3.8, "3.8 m"),
        ("= sqrt(span * span + (1 m) * 1 m)", 2.6, "2.6 m"),
        ("= span * sin(30 deg)", 1.2, "1.2 m"),
        ("= atan(1)", math.pi / 4, "45 deg"),
        ("= 1 turn / n", math.tau / 7, "51.4286 deg"),
        ("= round_up(span / 35 cm)", 7.0, "7"),
        ("= round_down(span / 35 cm) * 35 cm", 2.1, "2.1 m"),
        ("= least(span, gap, 2 m)", gap_m := 5 * 0.3048 + 11 * 0.0254, f"{gap_m:.6g} m"),
        ("= most(-span, -1 m)", -1.0, "-1 m"),
        ("= 80 % * span", 1.92, "1.92 m"),
        ("= 1 / lap", 0.05, "0.05 /s"),
        ("= span / lap", 0.12, "0.12 m/s"),
        ("= 60 /m * span", 144.0, "144"),
        ("= cold - 5 K", 263.15, "-10 degC"),
        ("= 12 V * 1.5 A", 18.0, "18 W"),
        ("= 2 A * 3 h", 21600.0, "6 Ah"),
    ],
)
def test_worked_by_hand(text: str, value: float, spoken: str) -> None:
    worked = amount(text)
    assert worked.value == pytest.approx(value, rel=1e-12)
    assert worked.spoken() == spoken


@pytest.mark.parametrize(
    ("text", "code", "marked", "summary"),
    [
        ("= span + lap", "MEASURE-004", "lap", "a time can't be added to a length"),
        ("= span - 2", "MEASURE-004", "2", "a number without a unit can't be taken from a length"),
        ("= sin(span)", "MEASURE-004", "sin(span)", '"sin" takes an angle, not a length'),
        ("= round(span)", "MEASURE-004", "round(span)", '"round" takes a number without a unit, not a length'),
        ("= sqrt(span)", "MEASURE-004", "sqrt(span)", "the root of a length is no quantity"),
        ("= least(span, lap)", "MEASURE-004", "least(span, lap)", "a time can't be compared with a length"),
        ("= cold * 2", "MEASURE-004", "2", "a temperature on a scale can't be multiplied or divided"),
        ("= 2 K + cold", "MEASURE-004", "cold", "a temperature on a scale can't be added to or taken from another"),
        ("= spam / 2", "MEASURE-002", "spam", 'there is no measure "spam"'),
        ("= span / 0", "MEASURE-005", "0", "this divides by nothing"),
        ("= span / (n - 7)", "MEASURE-005", "(n - 7)", "this divides by nothing"),
        ("= sqrt(1 - n)", "MEASURE-005", "sqrt(1 - n)", "this is the root of less than nothing"),
        ("= 1e14 * 100", "MEASURE-005", "100", "this gives more than any piece could need"),
        ("= span / 1/2 in", "MEASURE-001", "1/2 in", "it is unclear what is divided by what"),
        ("= n / 2 1/2", "MEASURE-001", "2 1/2", "it is unclear what is divided by what"),
        ("= 2 span", "MEASURE-001", "span", 'there is no sign between "2" and "span"'),
        ("= span 2", "MEASURE-001", "2", 'there is no sign before "2"'),
        ("= (span + 1 m", "MEASURE-001", "(", "this bracket is not closed"),
        ("= span)", "MEASURE-001", ")", '")" has no bracket that it belongs to'),
        ("= span +", "MEASURE-001", "+", "the formula ends too early"),
        ("= span ** 2", "MEASURE-001", "*", 'a number, a quantity or a measure is missing before "*"'),
        ("= span ^ 2", "MEASURE-001", "^", '"^" has no place in a formula'),
        ("= 8 ft 6", "MEASURE-001", "6", '"6" has no unit'),
        ("= 6 in 8 ft", "MEASURE-001", "8 ft", '"ft" can\'t follow "in"'),
        ("= 3 metrs", "UNIT-002", "metrs", '"metrs" is not a known unit'),
        ("= sin 3", "MEASURE-001", "sin", '"sin" needs brackets'),
        ("= sin(1 deg, 2 deg)", "MEASURE-001", "sin(1 deg, 2 deg)", '"sin" takes one value'),
        ("= 5 m / s", "MEASURE-001", "s", '"s" is a unit, and no number stands before it'),
        ("= __import__('os')", "MEASURE-002", "__import__", 'there is no measure "__import__"'),
        ("= " + "(" * 60 + "1", "MEASURE-001", "(", "there are too many brackets within each other"),
        ("= " + "1 + " * 60 + "1", "MEASURE-001", "=", "this formula is too long"),
    ],
)
def test_what_is_wrong_is_marked_in_the_text(text: str, code: str, marked: str, summary: str) -> None:
    with pytest.raises(FormulaError) as caught:
        amount(text)
    error = caught.value
    assert (error.problem.code, error.problem.summary) == (code, summary)
    assert text[error.start : error.start + error.length] == marked
    assert error.problem.do


@given(st.text("= span+-*/()1.2m ftinlapsqrt,%°'\"é\x00²½", max_size=40))
def test_whatever_stands_there_the_answer_is_an_amount_or_a_message(scrap: str) -> None:
    try:
        worked = amount(f"={scrap}")
    except FormulaError as error:
        assert 0 <= error.start <= error.start + error.length <= len(scrap) + 2
    else:
        assert math.isfinite(worked.value)


def test_numbers_that_grow_without_end_stay_short() -> None:
    grown = amount("= 1.0123456789")
    for _ in range(200):
        grown = grown.times(grown) if grown.number < 1e6 else grown.times(amount("= 1.00000012345 / 99991"))
    assert grown.number.denominator.bit_length() < 1200


def test_a_unit_is_never_a_measure() -> None:
    assert {"m", "in", "h", "min", "sqrt", "pi"} <= reserved_names()
    assert is_formula(" = 2")
    assert not is_formula("2 = 2")
