"""Exact conversion factors.

Source: international yard and pound agreement of 1959 (1 yd = 0.9144 m, 1 lb = 0.45359237 kg exactly), as
listed in NIST SP 811, Guide for the Use of the International System of Units, appendix B.8. From memory.
The nautical mile of 1852 m and the hour of 3600 s: BIPM, SI brochure, 9th edition, table 8 and text. From memory.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from lampwright.units import Kind, parse, unit_table

YARD = Fraction("0.9144")
POUND = Fraction("0.45359237")


@pytest.mark.parametrize(
    ("text", "kind", "exact"),
    [
        ("1 yd", "length", YARD),
        ("1 ft", "length", YARD / 3),
        ("1 in", "length", YARD / 36),
        ("1 mph", "speed", YARD * 1760 / 3600),
        ("1 ft/s", "speed", YARD / 3),
        ("1 kn", "speed", Fraction(1852, 3600)),
        ("1 km/h", "speed", Fraction(1000, 3600)),
        ("1 lb", "mass", POUND),
        ("1 oz", "mass", POUND / 16),
        ("1 lb/ft", "linear mass", POUND / (YARD / 3)),
        ("1 /ft", "density", 3 / YARD),
        ("1 in2", "area", (YARD / 36) ** 2),
        ("1 Wh", "energy", Fraction(3600)),
        ("1 Ah", "charge", Fraction(3600)),
    ],
)
def test_factor_is_exact(text: str, kind: Kind, exact: Fraction) -> None:
    assert unit_table().by_spelling[text.split(" ")[1]].factor == exact
    assert parse(text, kind) == float(exact)


@pytest.mark.parametrize(
    ("text", "kelvin"),
    # Fixed points of the Fahrenheit scale: ice 32 °F = 0 °C, steam 212 °F = 100 °C, -40 °F = -40 °C.
    [("32 degF", 273.15), ("212 degF", 373.15), ("-40 degF", 233.15), ("0 degC", 273.15), ("-273.15 degC", 0.0)],
)
def test_fixed_points_of_temperature(text: str, kelvin: float) -> None:
    assert parse(text, "temperature") == pytest.approx(kelvin, abs=1e-12)
