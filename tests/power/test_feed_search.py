"""The search for feeds: what it names serves, and nothing smaller does."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations

import numpy as np
import pytest

from lampwright.power.feed_search import PLACES, plan_of, search_feeds, serves, wires_by_area
from lampwright.show.model import CircuitShow

BuildShow = Callable[..., CircuitShow]


@pytest.mark.parametrize(("n_pixel", "code", "least"), [(30, 60, 4.7), (120, 20, 4.6), (120, 40, 4.45), (150, 12, 4.8)])
def test_the_plan_is_the_one_that_trying_everything_finds(
    show_of: BuildShow, n_pixel: int, code: int, least: float
) -> None:
    layout = show_of(n_pixel, pack={"current_limit": "5 A"}).layout
    run, codes = layout.runs[0], np.full((n_pixel, 3), code, np.uint8)
    found = search_feeds(layout, run, codes, least, most_feeds=2)
    plans = [
        plan_of(run, places, wire)
        for count in (1, 2)
        for places in combinations(PLACES, count)
        for wire in wires_by_area()
        if serves(layout, run, codes, least, places, wire)
    ]
    best = min(plans, key=lambda plan: (len(plan.places), plan.copper), default=None)
    assert (found is None) == (best is None)
    if found is not None and best is not None:
        assert (len(found.places), found.copper) == (len(best.places), best.copper)
        assert serves(layout, run, codes, least, found.places, found.wire)


def test_what_no_feed_can_serve_is_said(show_of: BuildShow) -> None:
    layout = show_of(150).layout
    assert search_feeds(layout, layout.runs[0], np.full((150, 3), 255, np.uint8), 4.9) is None
