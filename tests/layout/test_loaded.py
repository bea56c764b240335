"""A cord that stretches further than was thought lets the strip take its load."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from lampwright.layout.catenary import hang, hang_by_length
from lampwright.layout.loaded import stretch, swing

_WIDTHS = st.floats(0.3, 40.0)
_SLOPES = st.floats(-1.5, 1.5)
_LOADS = st.floats(0.05, 50.0)


@given(width=_WIDTHS, slope=_SLOPES, load=_LOADS, cut=st.floats(0.7, 1.5), give=st.floats(0.5, 6.0))
@settings(max_examples=60)
def test_stretched_cord_reaches_both_ends_by_numerical_integration(
    width: float, slope: float, load: float, cut: float, give: float
) -> None:
    # dx/ds = H (1/EA + 1/T), dy/ds = V (1/EA + 1/T), dS/ds = 1 + T/EA, V = V0 + w s, along the unstretched cord.
    rise, stiffness = slope * width, 10.0**give
    length = cut * math.hypot(width, rise)
    span = stretch(width, rise, length, load, stiffness)
    pull, start = float(span.pull), -float(span.start_lift)

    def whole(rate: float, end: float = 1.0, weigh_by: str = "x") -> float:
        def each(share: float) -> float:
            up = start + load * length * share
            tension = math.hypot(pull, up)
            give_here = 1 / stiffness + 1 / tension
            return length * {"x": pull * give_here, "y": up * give_here, "s": 1 + tension / stiffness}[weigh_by]

        return quad(each, 0.0, end, epsabs=1e-11 * width, epsrel=1e-10, limit=400, points=[0.5 * end])[0] * rate

    assert whole(1.0) == pytest.approx(width, rel=1e-7)
    assert whole(1.0, weigh_by="y") == pytest.approx(rise, abs=1e-7 * width)
    assert whole(1.0, weigh_by="s") == pytest.approx(float(span.length), rel=1e-7)
    along, up = whole(1.0, 0.5), whole(1.0, 0.5, "y")
    assert float(span.sag) == pytest.approx(slope * along - up, abs=1e-6 * width)


@given(width=_WIDTHS, slope=_SLOPES, load=_LOADS, slack=st.floats(1e-4, 2.0))
def test_cord_that_does_not_stretch_hangs_as_a_catenary(width: float, slope: float, load: float, slack: float) -> None:
    rise = slope * width
    length = (1 + slack) * math.hypot(width, rise)
    span, curve = stretch(width, rise, length, load, math.inf), hang_by_length(width, rise, length)
    # Cosh against slack: an error of one part in 10^12 in length is one in 10^12/slack in pull.
    assert float(span.pull) == pytest.approx(float(load * curve.parameter), rel=1e-6)
    assert float(span.tension) == pytest.approx(float(curve.greatest_tension(load)), rel=1e-6)


@given(width=_WIDTHS, slope=_SLOPES, load=_LOADS, cut=st.floats(0.8, 1.3))
def test_mirrored_span_pulls_its_other_end_as_hard(width: float, slope: float, load: float, cut: float) -> None:
    length = cut * width * math.hypot(1, slope)
    one, other = (stretch(width, rise, length, load, 8000.0) for rise in (slope * width, -slope * width))
    assert float(one.pull) == pytest.approx(float(other.pull), rel=1e-8)
    assert float(one.start_lift) == pytest.approx(float(other.end_lift), rel=1e-6, abs=1e-9 * load * length)
    assert float(one.start_lift + one.end_lift) == pytest.approx(load * length, rel=1e-9)


def test_weightless_limit_is_a_stretched_string() -> None:
    # Hooke: a cord of 1.9 m and 4000 N drawn out to 2 m pulls 4000 * 0.1 / 1.9.
    assert float(stretch(2.0, 0.0, 1.9, 1e-6, 4000.0).pull) == pytest.approx(4000 * 0.1 / 1.9, rel=1e-9)


def test_wind_swings_an_uneven_span_about_its_chord() -> None:
    plane = swing(3.0, 1.0, 2.0, 2.0)
    assert float(plane.load) == pytest.approx(2 * math.sqrt(2))
    assert float(plane.angle) == pytest.approx(math.pi / 4)
    assert float(np.hypot(plane.width, plane.rise)) == pytest.approx(math.sqrt(10))  # the chord stays
    still = swing(3.0, 1.0, 2.0, 0.0)
    assert (float(still.width), float(still.rise)) == pytest.approx((3.0, 1.0))


def test_wind_never_slackens_a_span() -> None:
    curve = hang(6.0, 1.0, 0.3)
    winds = np.linspace(0.0, 10.0, 50)
    plane = swing(6.0, 1.0, 1.2, winds)
    blown = hang_by_length(plane.width, plane.rise, float(curve.length))
    pulls = plane.load * blown.parameter
    assert np.all(np.diff(pulls) > 0)
    assert pulls[0] == pytest.approx(1.2 * float(curve.parameter))


@pytest.mark.parametrize(
    ("length", "load", "stiffness"), [(1.9, 1.0, math.inf), (2.1, 0.0, 100.0), (0.0, 1.0, 100.0), (2.1, math.nan, 9.0)]
)
def test_senseless_cord_is_our_own_bug_and_says_so(length: float, load: float, stiffness: float) -> None:
    with pytest.raises(ValueError, match=r"^a cord needs width, load and length above zero"):
        stretch(2.0, 0.0, length, load, stiffness)
