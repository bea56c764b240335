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

from lampwright.layout.model import CircuitLayout, RunLayout
from lampwright.parts import Figure, Status, Wire, find
from lampwright.piece.model import Cable, Feed, Origin
from lampwright.power import ready_rails, smallest_fuse
from lampwright.power.feed_search import (
    FEED_WORK,
    Case,
    FeedPlan,
    PricedWire,
    Site,
    Trial,
    cost_of,
    priced_wires,
    search_feeds,
    sites_of,
    worth_trying,
)
from lampwright.show.model import CircuitShow

BuildShow = Callable[..., CircuitShow]


def wire(resistance: float, ampacity: float) -> Wire:
    """Return a wire of so many ohm a metre and so many amperes."""

    def figure(value: float) -> Figure:
        return Figure(value, f"{value:g}", Status.COMPUTED, "made up for a test")

    return Wire(f"w{resistance:g}", "wire", figure(1e-6), figure(resistance), figure(ampacity))


def tried(case: Case, least: float, wires: Sequence[PricedWire], most_feeds: int) -> float:
    """Return the least cost of all choices that serve, every one of them tried; infinite where none does."""
    best = math.inf
    for count in range(1, most_feeds + 1):
        guarded = [each for each in wires if each.carries and each.wire.ampacity.value >= LEAD_FUSE]
        for sites in combinations(sites_of(case.run), count):
            trial = Trial(case, least, sites)
            for chosen in product(guarded, repeat=count):
                ohms = [each.wire.resistance.value for each in chosen]
                if trial.serves(ohms, [each.carries for each in chosen]):
                    best = min(best, cost_of(sites, chosen))
    return best


def built(case: Case, plan: FeedPlan) -> CircuitLayout:
    """Return the circuit as a plan would have it."""
    return case.with_feeds([site.feed(wire) for site, wire in zip(plan.sites, plan.wires, strict=True)])


LEAD_FUSE = 2.0
"""What guards these circuits' leads of AWG 18, and all behind them. [A]"""

FIGURES = st.tuples(st.floats(0.005, 0.3), st.floats(0.3, 12.0), st.floats(0.1, 4.0))
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
    codes = np.full((1, 60, 3), code, np.uint8)
    case = Case(layout, layout.runs[0], codes)
    found = search_feeds([case], least, 2, wires)
    best = tried(case, least, wires, 2)
    assert (math.inf if found is None else found.cost) == pytest.approx(best)


@pytest.mark.parametrize(("n_pixel", "code", "least"), [(30, 60, 4.7), (120, 20, 4.6), (120, 40, 4.45), (150, 12, 4.8)])
def test_of_the_whole_catalogue_no_two_feeds_are_cheaper(
    show_of: BuildShow, n_pixel: int, code: int, least: float
) -> None:
    layout = show_of(n_pixel, pack={"current_limit": "5 A"}).layout
    codes = np.full((1, n_pixel, 3), code, np.uint8)
    case = Case(layout, layout.runs[0], codes)
    found = search_feeds([case], least, 2)
    best = tried(case, least, worth_trying(priced_wires(), LEAD_FUSE), 2)
    assert found is not None
    assert found.cost == pytest.approx(best)


def test_a_plan_serves_when_it_is_built(show_of: BuildShow) -> None:
    layout = show_of(150, pack={"current_limit": "9 A"}).layout
    codes = np.full((1, 150, 3), 60, np.uint8)
    case = Case(layout, layout.runs[0], codes)
    plan = search_feeds([case], 4.55)
    assert plan is not None
    rails = ready_rails(built(case, plan))
    frame = rails.frame(codes[0])
    assert frame.pixel_voltage.min() >= 4.55
    for index, each in zip(rails.laid[1:], plan.wires, strict=True):
        fuse = smallest_fuse(*[abs(float(frame.wire_current[index, 0]))] * 2)
        assert fuse is not None
        assert fuse.rating.value <= each.ampacity.value


def test_a_plan_holds_every_frame_it_is_given(show_of: BuildShow) -> None:
    """One frame is bright at the head, the other at the far end: neither alone asks for what both do."""
    layout = show_of(150, pack={"current_limit": "9 A"}).layout
    codes = np.full((2, 150, 3), 4, np.uint8)
    codes[0, :40], codes[1, 110:] = 120, 120
    case = Case(layout, layout.runs[0], codes)
    plan = search_feeds([case], 4.5)
    assert plan is not None
    rails = ready_rails(built(case, plan))
    assert all(rails.frame(each).pixel_voltage.min() >= 4.5 for each in codes)
    alone = [search_feeds([Case(layout, layout.runs[0], each)], 4.5) for each in (codes[:1], codes[1:])]
    both = search_feeds([Case(layout, layout.runs[0], each) for each in (codes[:1], codes[1:])], 4.5)
    assert both is not None
    assert both.cost == pytest.approx(plan.cost)  # two circuits fed alike, each with its own frame
    assert all(each is not None and each.cost <= plan.cost for each in alone)


def with_feeds(layout: CircuitLayout, *feeds: Feed) -> RunLayout:
    return dataclasses.replace(layout.runs[0], run=dataclasses.replace(layout.runs[0].run, feeds=feeds))


def test_cables_come_from_where_the_first_feed_does(show_of: BuildShow) -> None:
    run = with_feeds(show_of(60).layout, Feed(0.5, Cable(find(Wire, "awg-20"), 1.2), Origin("other", 0.25)))
    sites = sites_of(run)
    assert [site.at for site in sites] == [0.0, 0.25, 0.5, 0.75, 1.0]
    assert [site.length for site in sites] == pytest.approx([1.7, 1.45, 1.2, 1.45, 1.7])  # 60 pixels are 1 m
    assert {site.origin for site in sites} == {Origin("other", 0.25)}


def test_a_shorter_way_of_the_piece_file_is_kept(show_of: BuildShow) -> None:
    wire = find(Wire, "awg-20")
    run = with_feeds(show_of(60).layout, Feed(0.0, Cable(wire, 0.3)), Feed(0.98, Cable(wire, 0.4)))
    assert [(site.at, round(site.length, 3)) for site in sites_of(run)] == [
        (0.0, 0.3),
        (0.25, 0.55),
        (0.5, 0.8),
        (0.75, 1.05),
        (0.98, 0.4),
    ]


def test_a_run_is_never_fed_from_itself_alone(show_of: BuildShow) -> None:
    own = Feed(1.0, Cable(find(Wire, "awg-20"), 0.5), Origin("strip", 0.0))
    sites = sites_of(with_feeds(show_of(60).layout, Feed(0.0, Cable(find(Wire, "awg-20"), 0.3)), own))
    assert {site.origin for site in sites} == {None}


def test_a_feed_costs_both_its_conductors_and_its_work() -> None:
    priced = PricedWire(wire(0.02, 2.0), 0.5)
    near, far = Site(0.0, 0.3, None), Site(1.0, 1.3, None)
    assert cost_of([near], [priced]) == pytest.approx(FEED_WORK + 2 * 0.3 * 0.5)
    assert cost_of([near, far], [priced, priced]) == pytest.approx(2 * FEED_WORK + 2 * (0.3 + 1.3) * 0.5)


def test_a_wire_that_another_beats_in_everything_is_left_out() -> None:
    good, dear = PricedWire(wire(0.02, 3), 1.0), PricedWire(wire(0.03, 2), 1.5)
    weak, hair = PricedWire(wire(0.05, 1), 0.5), PricedWire(wire(0.2, 0.9), 0.1)
    assert worth_trying([good, dear, weak, hair]) == [weak, good]  # no fuse is small enough for the thinnest
    kept = worth_trying(priced_wires())
    assert len(kept) > 6
    assert [each.price for each in kept] == sorted(each.price for each in kept)


def test_what_no_feed_can_serve_is_said(show_of: BuildShow) -> None:
    layout = show_of(150).layout
    assert search_feeds([Case(layout, layout.runs[0], np.full((1, 150, 3), 255, np.uint8))], 4.9) is None
    assert search_feeds([Case(layout, layout.runs[0], np.full((1, 150, 3), 5, np.uint8))], 4.5, wires=()) is None
