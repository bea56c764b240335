"""A span solved wrongly is a strip cut too short to reach the other post."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.layout.catenary import hang

_WIDTHS = st.floats(0.05, 50.0)
_DIPS = st.floats(1e-4, 3.0)  # shares of the width
_SLOPES = st.floats(-3.0, 3.0)


@given(width=_WIDTHS, slope=_SLOPES, share=_DIPS)
def test_curve_starts_and_ends_at_its_anchors_and_dips_by_what_was_asked(
    width: float, slope: float, share: float
) -> None:
    rise, dip = slope * width, share * width
    curve = hang(width, rise, dip)
    x, height = curve.points(np.array([0.0, curve.length]))
    assert x == pytest.approx([0.0, width], abs=1e-8 * width)
    assert height == pytest.approx([0.0, rise], abs=1e-7 * width)
    c, a = curve.parameter, curve.level_at
    middle = 2 * c * math.sinh(width / (4 * c)) * math.sinh((width / 2 - 2 * a) / (2 * c))
    assert rise / 2 - middle == pytest.approx(dip, rel=1e-6)
    assert curve.length > math.hypot(width, rise)


@given(width=_WIDTHS, slope=_SLOPES, share=_DIPS)
def test_turned_round_a_span_needs_the_same_strip(width: float, slope: float, share: float) -> None:
    up = hang(width, slope * width, share * width)
    down = hang(width, -slope * width, share * width)
    assert up.length == pytest.approx(down.length, rel=1e-12)


@given(share=st.floats(1e-9, 1e-3))
def test_nearly_straight_span_keeps_its_digits(share: float) -> None:
    # A shallow curve is a parabola: the dip a quarter of the way along is 3/4 of the full one.
    curve = hang(6.0, 0.0, 6.0 * share)
    _, height = curve.points(np.array([curve.length / 4, curve.length / 2]))
    assert height / (6.0 * share) == pytest.approx([-0.75, -1.0], rel=1e-4)


@pytest.mark.parametrize(("width", "dip"), [(0.0, 1.0), (1.0, 0.0), (-1.0, 1.0), (1.0, math.nan)])
def test_senseless_span_is_our_own_bug_and_says_so(width: float, dip: float) -> None:
    with pytest.raises(ValueError, match=f"^a catenary needs width and dip above zero, not {width} and {dip}$"):
        hang(width, 0.0, dip)
