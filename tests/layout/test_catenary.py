"""A span solved wrongly is a strip cut too short to reach the other post."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.layout.catenary import (
    Catenary,
    hang,
    hang_by_length,
    hang_by_length_and_tension,
    hang_by_sag_and_length,
    hang_by_sag_and_tension,
    hang_by_tension,
)

_WIDTHS = st.floats(0.05, 50.0)
_DIPS = st.floats(1e-4, 3.0)  # shares of the width
_SLOPES = st.floats(-3.0, 3.0)


@given(width=_WIDTHS, slope=_SLOPES, share=_DIPS)
def test_curve_starts_and_ends_at_its_anchors_and_dips_by_what_was_asked(
    width: float, slope: float, share: float
) -> None:
    rise, dip = slope * width, share * width
    curve = hang(width, rise, dip)
    x, height = curve.points(np.array([0.0, float(curve.length)]))
    assert x == pytest.approx([0.0, width], abs=1e-8 * width)
    assert height == pytest.approx([0.0, rise], abs=1e-7 * width)
    c, a = float(curve.parameter), float(curve.level_at)
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
    _, height = curve.points(np.array([0.25, 0.5]) * curve.length)
    assert height / (6.0 * share) == pytest.approx([-0.75, -1.0], rel=1e-4)


@pytest.mark.parametrize(("width", "dip"), [(0.0, 1.0), (1.0, 0.0), (-1.0, 1.0), (1.0, math.nan)])
def test_senseless_span_is_our_own_bug_and_says_so(width: float, dip: float) -> None:
    with pytest.raises(ValueError, match=f"^a catenary needs width and dip above zero, not {width} and {dip}$"):
        hang(width, 0.0, dip)


@given(width=_WIDTHS, slope=_SLOPES, share=st.floats(1e-3, 3.0), weight=st.floats(0.1, 50.0))
def test_any_two_of_width_sag_length_and_tension_give_the_others(
    width: float, slope: float, share: float, weight: float
) -> None:
    rise, dip = slope * width, share * width
    first = hang(width, rise, dip)
    length, tension = float(first.length), float(first.greatest_tension(weight))
    for curve in (
        hang_by_length(width, rise, length),
        hang_by_sag_and_length(rise, dip, length),
        hang_by_sag_and_tension(rise, dip, weight, tension),
        hang_by_length_and_tension(rise, length, weight, tension),
    ):
        # Length tells little of a flat sag: 1e-15 of it is 1e-15/share² of the sag.
        assert float(curve.width) == pytest.approx(width, rel=1e-8)
        assert float(curve.sag) == pytest.approx(dip, rel=1e-8)
        assert float(curve.greatest_tension(weight)) == pytest.approx(tension, rel=1e-8)
    flatter = hang_by_tension(width, rise, weight, tension)
    assert float(flatter.greatest_tension(weight)) == pytest.approx(tension, rel=1e-9)
    assert float(flatter.sag) <= dip * (1 + 1e-6)


@given(width=_WIDTHS, slope=_SLOPES, share=_DIPS)
def test_pull_is_the_same_all_along_and_tension_greatest_at_the_higher_end(
    width: float, slope: float, share: float
) -> None:
    curve = hang(width, slope * width, share * width)
    along = np.linspace(0.0, float(curve.length), 101)
    tension, steepness = curve.tension(along, 2.0), curve.slope(along)
    assert tension / np.hypot(1.0, steepness) == pytest.approx(np.full(101, 2.0 * float(curve.parameter)), rel=1e-9)
    higher = -1 if slope >= 0 else 0
    assert tension[higher] == pytest.approx(tension.max(), rel=1e-9)
    assert tension[higher] == pytest.approx(float(curve.greatest_tension(2.0)), rel=1e-7)


def test_ten_thousand_spans_are_the_same_spans_as_one_by_one() -> None:
    random = np.random.default_rng(6)
    width, rise = random.uniform(0.5, 20.0, 10_000), random.uniform(-3.0, 3.0, 10_000)
    sag = random.uniform(0.005, 0.8, 10_000) * width
    together = hang(width, rise, sag)
    for index in random.integers(0, 10_000, 20):
        alone = hang(width[index], rise[index], sag[index])
        assert float(together.length[index]) == pytest.approx(float(alone.length), rel=1e-14)


@pytest.mark.parametrize(
    ("solve", "message"),
    [
        (lambda: hang_by_length(2.0, 0.0, 2.0), "a catenary needs width above zero and more length than its chord"),
        # The least tension of a 2 m span is w L / 2 times cosh u / u at u tanh u = 1, which is 1.5089.
        (lambda: hang_by_tension(2.0, 0.0, 1.0, 1.508), "a catenary of this width and weight has more tension"),
        (lambda: hang_by_sag_and_length(0.0, 1.0, 2.0), "a catenary needs more length than twice its sag"),
        (lambda: hang_by_sag_and_tension(0.0, 1.0, 2.0, 2.0), "a catenary of this sag has more tension than that"),
        (lambda: hang_by_length_and_tension(0.0, 2.0, 1.0, 1.0), "a cord of this length needs more tension"),
    ],
)
def test_pairs_that_no_cord_can_have_are_refused(solve: Callable[[], Catenary], message: str) -> None:
    with pytest.raises(ValueError, match=f"^{message}"):
        solve()
