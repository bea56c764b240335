"""Preferred values: what resistors and capacitors are made in.

Source
------
IEC 60063, preferred number series for resistors and capacitors (from memory).
"""

from __future__ import annotations

import math
import tomllib
from functools import cache
from importlib import resources

SLACK = 1e-9
"""Relative; what floating point makes of a value must not push it past itself."""


def next_preferred(value: float, series: str = "E12") -> float:
    """Return the smallest preferred value that is no less than this one, in its unit.

    Raises
    ------
    ValueError
        The value is not above zero, or there is no such series.
    """
    return next(each for each in _around(value, series) if each >= value * (1 - SLACK))


def previous_preferred(value: float, series: str = "E12") -> float:
    """Return the largest preferred value that is no more than this one, in its unit.

    Raises
    ------
    ValueError
        As :func:`next_preferred`.
    """
    return next(each for each in reversed(_around(value, series)) if each <= value * (1 + SLACK))


def nearest_preferred(value: float, series: str = "E12") -> float:
    """Return the preferred value whose ratio to this one is nearest to 1, in its unit.

    Raises
    ------
    ValueError
        As :func:`next_preferred`.
    """
    return min(_around(value, series), key=lambda each: abs(math.log(each / value)))


def preferred_source() -> str:
    """Return where the series come from."""
    return str(_read()[1])


def _around(value: float, series: str) -> list[float]:
    """Return the preferred values of the decade around a value and of its neighbours, rising."""
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"a value above zero, not {value}")
    if series not in _read()[0]:
        raise ValueError(f"a series of {', '.join(_read()[0])}, not {series!r}")
    exponent = math.floor(math.log10(value))
    return [
        # as a decimal text, so that 470e-6 is the number that a maker's "470 uF" is
        float(f"{step}e{power - 1}")
        for power in (exponent - 1, exponent, exponent + 1)
        for step in _read()[0][series]
    ]


@cache
def _read() -> tuple[dict[str, list[int]], str]:
    text = resources.files("lampwright.parts").joinpath("catalogue", "preferred.toml").read_text(encoding="utf-8")
    raw = tomllib.loads(text)
    return raw["series"], raw["source"]
