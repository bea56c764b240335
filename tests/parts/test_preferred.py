"""A value that no shop sells is of no use at the bench."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.parts import nearest_preferred, next_preferred, previous_preferred

SERIES = st.sampled_from(["E6", "E12", "E24"])


@given(st.floats(1e-12, 1e9), SERIES)
def test_neighbours_enclose_the_value_and_the_nearer_one_is_taken(value: float, series: str) -> None:
    below, above = previous_preferred(value, series), next_preferred(value, series)
    assert below <= value * (1 + 1e-8)
    assert above >= value * (1 - 1e-8)
    nearest = nearest_preferred(value, series)
    assert abs(math.log(nearest / value)) <= min(math.log(above / value), math.log(value / below)) + 1e-8
    assert next_preferred(above, series) == above
    assert previous_preferred(below, series) == below


@given(st.floats(1e-9, 1e6), SERIES)
def test_steps_are_no_wider_than_the_series_promises(value: float, series: str) -> None:
    n = int(series[1:])
    assert next_preferred(value, series) / value <= 10 ** (1 / n) * 1.05


@pytest.mark.parametrize("value", [0.0, -1.0, math.inf, math.nan])
def test_no_value_is_made_of_nothing(value: float) -> None:
    with pytest.raises(ValueError, match="a value above zero"):
        next_preferred(value)
    with pytest.raises(ValueError, match="a series of E6, E12, E24"):
        next_preferred(1.0, "E5")
