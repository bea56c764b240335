"""The search for feeds: what it names serves, and nothing cheaper does."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from lampwright.layout.model import CircuitLayout
from lampwright.parts import Figure, Status, Wire
from lampwright.power import ready_rails
from lampwright.power.feed_search import (
    FEED_WORK,
    PLACES,
    PricedWire,
    Trial,
    cost_of,
    fed_at,
    priced_wires,
    search_feeds,
    worth_trying,
)
from lampwright.show.model import CircuitShow

BuildShow = Callable[..., CircuitShow]


def wire(resistance: float, ampacity: float) -> Wire:
    """Return a wire of so many ohm a metre and so many amperes."""

    def figure(value: float) -> Figure:
        return Figure(value, f"{value:g}", Status.COMPUTED, "made up for a test")

    return Wire(f"w{resistance:g}", "wire", figure(1e-6), figure(resistance), figure(ampacity))


def tried(
    layout: CircuitLayout, codes: NDArray[np.uint8], least: float, wires: Sequence[PricedWire], most_feeds: int
) -> float:
    """Return the least cost of all choices that serve, every one of them tried; infinite where none does."""
    run, best = layout.runs[0], math.inf
    for count in range(1, most_feeds + 1):
        for places in combinations(PLACES, count):
            trial = Trial(layout, run, codes, least, places)
            for chosen in product(wires, repeat=count):
                ohms = [each.wire.resistance.value for each in chosen]
                if trial.serves(ohms, [each.wire.ampacity.value for each in chosen]):
                    best = min(best, cost_of(run, places, chosen))
    return best


FIGURES = st.tuples(st.floats(0.005, 0.3), st.floats(0.3, 8.0), st.floats(0.1, 4.0))
"""Of a wire: ohm a metre, amperes, price of a metre."""


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    figures=st.lists(FIGURES, min_size=1, max_size=4),
    code=st.integers(5, 60),
    least=st.floats(4.3, 4.85),
)
def test_no_choice_of_a_small_catalogue_is_cheaper(
    show_of: BuildShow, figures: list[tuple[float, float, float]], code: int, least: float
) -> None:
    layout = show_of(60, pack={"current_limit": "5 A"}).layout
    wires = [PricedWire(wire(ohms, amperes), price) for ohms, amperes, price in figures]
    codes = np.full((60, 3), code, np.uint8)
    found = search_feeds(layout, layout.runs[0], codes, least, 2, wires)
    best = tried(layout, codes, least, wires, 2)
    assert (math.inf if found is None else found.cost) == pytest.approx(best)


@pytest.mark.parametrize(("n_pixel", "code", "least"), [(30, 60, 4.7), (120, 20, 4.6), (120, 40, 4.45), (150, 12, 4.8)])
def test_of_the_whole_catalogue_no_two_feeds_are_cheaper(
    show_of: BuildShow, n_pixel: int, code: int, least: float
) -> None:
    layout = show_of(n_pixel, pack={"current_limit": "5 A"}).layout
    codes = np.full((n_pixel, 3), code, np.uint8)
    found = search_feeds(layout, layout.runs[0], codes, least, 2)
    best = tried(layout, codes, least, worth_trying(priced_wires()), 2)
    assert found is not None
    assert found.cost == pytest.approx(best)


def test_a_plan_serves_when_it_is_built(show_of: BuildShow) -> None:
    layout = show_of(150, pack={"current_limit": "9 A"}).layout
    run, codes = layout.runs[0], np.full((150, 3), 60, np.uint8)
    plan = search_feeds(layout, run, codes, 4.55)
    assert plan is not None
    built = fed_at(layout, run, plan.places, plan.wires)
    rails = ready_rails(built)
    frame = rails.frame(codes)
    assert frame.pixel_voltage.min() >= 4.55
    for index, each in zip(rails.laid[1:], plan.wires, strict=True):
        assert abs(frame.wire_current[index, 0]) <= each.ampacity.value


def test_a_feed_costs_both_its_conductors_and_its_work(show_of: BuildShow) -> None:
    run = dataclasses.replace(show_of(60).layout.runs[0])
    priced = PricedWire(wire(0.02, 2.0), 0.5)
    assert cost_of(run, (0.0,), [priced]) == pytest.approx(FEED_WORK + 2 * 0.3 * 0.5)
    assert cost_of(run, (0.0, 1.0), [priced, priced]) == pytest.approx(
        2 * FEED_WORK + 2 * (0.3 + 1.3) * 0.5  # 60 pixels at 60 /m are 1 m
    )


def test_a_wire_that_another_beats_in_everything_is_left_out() -> None:
    good, dear = PricedWire(wire(0.02, 3), 1.0), PricedWire(wire(0.03, 2), 1.5)
    weak = PricedWire(wire(0.05, 1), 0.5)
    assert worth_trying([good, dear, weak]) == [weak, good]
    kept = worth_trying(priced_wires())
    assert len(kept) > 8
    assert [each.price for each in kept] == sorted(each.price for each in kept)


def test_what_no_feed_can_serve_is_said(show_of: BuildShow) -> None:
    layout = show_of(150).layout
    assert search_feeds(layout, layout.runs[0], np.full((150, 3), 255, np.uint8), 4.9) is None
    assert search_feeds(layout, layout.runs[0], np.full((150, 3), 5, np.uint8), 4.5, wires=()) is None
