"""A meter on a length of strip tells what its pixels draw; a reading that says nothing of one is refused."""

from __future__ import annotations

import datetime
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.parts import load_catalogue
from lampwright.parts.model import Status
from lampwright.power import as_measured, worst_of
from lampwright.stock import Lot, NewLot
from lampwright.units import MakerError

STRIP = load_catalogue().strips["ws2812b-60"]
CHANNELS = ("red_current", "green_current", "blue_current")


def lot(**what: object) -> Lot:
    return Lot(3, NewLot("ws2812b-60", length=2.0, **what), datetime.date(2026, 12, 21), 0)  # type: ignore[arg-type]


def ladder(n: int, rail: float, pixel: float, volts: float) -> float:
    """Return the far end's voltage, pixel by pixel: each stretch of both rails carries all that comes after it.

    Source: Kirchhoff's laws, written out here and not the program's solver.
    """
    carried = pixel * np.arange(n, 0, -1)
    return float(volts - np.sum(carried * 2 * rail / STRIP.density.value))


@given(
    st.integers(20, 90),
    st.floats(0.0005, 0.0012),
    st.floats(0.03, 0.045),
    st.floats(0.06, 0.12),
)
def test_figures_come_back_out_of_what_a_meter_would_show(n: int, dark: float, white: float, rail: float) -> None:
    far = ladder(n, rail, dark + white, 5.0)
    found = as_measured(STRIP, lot(pixels=n, volts=5.0, far=far, white=n * (dark + white), dark=n * dark))
    assert found.quiescent_current.value == pytest.approx(dark)
    assert sum(getattr(found, name).value for name in CHANNELS) == pytest.approx(white)
    # the formula is that of an evenly loaded line, the ladder has n steps: they differ by one in n
    assert found.rail_resistance.value == pytest.approx(rail * (n + 1) / n, rel=1e-6)
    assert {found.red_current.status, found.rail_resistance.status} == {Status.MEASURED}


def test_what_the_meter_doesnt_tell_stays_as_the_catalogue_has_it() -> None:
    assert as_measured(STRIP, lot()) == STRIP
    dark = as_measured(STRIP, lot(pixels=60, dark=0.06))
    assert dark == replace(STRIP, quiescent_current=dark.quiescent_current)
    assert dark.quiescent_current.text == "1 mA"
    white = as_measured(STRIP, lot(pixels=30, volts=5.0, white=1.521))
    assert white.quiescent_current == STRIP.quiescent_current
    # 50.7 mA less 0.7 mA, each channel its share of what the catalogue says
    assert [getattr(white, name).value for name in CHANNELS] == pytest.approx([0.05 / 3] * 3)
    assert white.rail_resistance == STRIP.rail_resistance


def test_the_highest_of_each_figure_is_reckoned_with() -> None:
    some, other = (
        as_measured(STRIP, lot(pixels=30, volts=5.0, white=a, dark=b)) for a, b in ((1.5, 0.03), (1.2, 0.04))
    )
    worst = worst_of([some, other, STRIP])
    assert worst.red_current == STRIP.red_current
    assert worst.quiescent_current == other.quiescent_current
    assert worst_of([some, other]).red_current == some.red_current


@pytest.mark.parametrize(
    ("what", "summary", "found"),
    [
        ({"white": 1.0}, "a current says nothing of one pixel", "no number of pixels"),
        ({"pixels": 60, "white": 1.0}, "whether pixels sagged can't be told", "no voltage at the head"),
        (
            {"pixels": 60, "volts": 5.0, "white": 0.03, "dark": 0.04},
            "white draws no more than dark",
            "30 mA white, 40 mA dark",
        ),
        (
            {"pixels": 60, "volts": 4.9, "far": 5.0, "white": 2.0},
            "the far end is no lower than the head",
            "4.9 V at the head, 5 V far",
        ),
        # 300 pixels: 5 V less 6 A times 0.164 ohm/m times 5 m
        (
            {"pixels": 300, "volts": 5.0, "white": 6.0},
            "the far pixels sag and draw less",
            "80 mV at the far end, as reckoned",
        ),
        (
            {"pixels": 100, "volts": 5.0, "far": 3.6, "white": 2.0},
            "the far pixels sag and draw less",
            "3.6 V at the far end, as measured",
        ),
    ],
)
def test_a_reading_that_says_nothing_of_one_pixel_is_refused(what: dict[str, float], summary: str, found: str) -> None:
    with pytest.raises(MakerError) as caught:
        as_measured(STRIP, lot(**what))
    (problem,) = caught.value.problems
    assert (problem.code, problem.summary) == ("STOCK-006", f"lot 3, ws2812b-60: {summary}")
    assert problem.found == found
