"""Reliability against worked examples in print.

Sources
-------
A  k out of n: 3 of 4 at 0.9 printed 0.9477 (reliability text); 3 of 5 at 0.9 printed 0.99144 (Devore, Probability and
   Statistics for Engineering and the Sciences, table of binomial probabilities, exercise 3.99); 3 of 4 at 0.95
   recomputed 0.98598. Also scipy.stats.binom.sf and plain enumeration.
B  Series 0.9 x 0.95 x 0.99 = 0.84645; 0.9 beside 0.8 = 0.98, and that in series with 0.95 = 0.931, by hand.
C  The bridge of five (1 top left, 2 top right, 3 across, 4 bottom left, 5 bottom right): minimal cuts {1, 4}, {2, 5},
   {1, 3, 5}, {2, 3, 4} (reliability texts); all 0.9 give 0.97848; (0.8, 0.9, 0.9, 0.9, 0.8) give 0.95652, recomputed.
D  Beta(1, 1) after 9 of 10 successes: Beta(10, 2), mean 0.8333, 5 % quantile 0.6356 (any text on Bayesian statistics;
   quantile by scipy).
E  Spares, least s with the Poisson sum at the target: mean 1 at 95 % gives 3, mean 2 gives 5, mean 0.2 gives 1 (tables
   of the Poisson distribution). 45 units, 90 days, mean times between failures 100,000, 200,000, 300,000 h: printed
   3, 2, 2 by a normal approximation; exact 3, 2, 1, recomputed.
"""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from scipy import stats

from lampwright.faults.anatomy import Anatomy, Link, Segment
from lampwright.faults.circuit_odds import lit_pixels, power_of
from lampwright.faults.every import embody
from lampwright.faults.kinds import FaultKind, Per, Rate
from lampwright.faults.odds import lit_circuit_odds
from lampwright.faults.showing import reached_nodes
from lampwright.faults.spares import spares_needed
from tests.faults.pieces import row

NEVER = dict.fromkeys(FaultKind, 0.0)


@pytest.mark.parametrize(("k", "n", "p", "printed"), [(3, 4, 0.9, 0.9477), (3, 5, 0.9, 0.99144), (3, 4, 0.95, 0.98598)])
def test_k_out_of_n_circuits(k: int, n: int, p: float, printed: float) -> None:
    found = float(lit_circuit_odds(embody(row(n)), NEVER | {FaultKind.PACK_EMPTY: 1.0 - p})[k:].sum())
    places = len(str(printed)) - 2
    assert found == pytest.approx(printed, abs=0.5001 * 10**-places)
    assert found == pytest.approx(float(stats.binom.sf(k - 1, n, p)), abs=1e-12)
    by_hand = sum(
        p ** sum(alive) * (1 - p) ** (n - sum(alive))
        for alive in itertools.product((0, 1), repeat=n)
        if sum(alive) >= k
    )
    assert found == pytest.approx(by_hand, abs=1e-12)


def test_series() -> None:
    chances = NEVER | {FaultKind.PACK_EMPTY: 0.1, FaultKind.PLUG_OUT: 0.05, FaultKind.CABLE_BROKEN: 0.01}
    assert lit_circuit_odds(embody(row(1)), chances)[1] == pytest.approx(0.84645, abs=1e-12)


def test_parallel_and_parallel_in_series() -> None:
    segment = Segment(0, "part", 0, 1, False, ("post",))
    feeds = (Link("feed", 0, 1, True), Link("second way", 0, 1, False))
    anatomy = Anatomy("pair", 1, (segment,), feeds, ((0,),), ("run",), False)
    chances = NEVER | {FaultKind.FEED_OPEN: 0.1, FaultKind.RAIL_OPEN: 0.2}
    assert lit_pixels(anatomy, chances, 1.0)[1] == pytest.approx(0.98, abs=1e-12)
    assert lit_pixels(anatomy, chances, 0.95)[1] == pytest.approx(0.931, abs=1e-12)


def bridge() -> Anatomy:
    """Return the bridge from the hub (0) to the third segment (3); 1 and 5 of the text are rails, the others feeds."""
    ends = [(0, 1), (1, 3), (1, 2), (0, 2), (2, 3)]
    links = tuple(Link(str(i + 1), *pair, is_feed=i not in (0, 4)) for i, pair in enumerate(ends))
    segments = tuple(Segment(0, f"part {i}", i, 1, False, ("post",)) for i in range(3))
    return Anatomy("bridge", 3, segments, links, ((0, 1, 2),), ("run",), False)


@pytest.mark.parametrize(("outer", "printed"), [(0.9, 0.97848), (0.8, 0.95652)])
def test_bridge(outer: float, printed: float) -> None:
    chances = NEVER | {FaultKind.FEED_OPEN: 0.1, FaultKind.RAIL_OPEN: 1.0 - outer}
    powers = power_of(bridge(), chances, frozenset({1, 2, 3}), frozenset())
    assert sum(powers.values()) == pytest.approx(1.0)
    assert sum(chance for nodes, chance in powers.items() if 3 in nodes) == pytest.approx(printed, abs=5e-6)


def test_minimal_cuts_of_the_bridge() -> None:
    cuts: list[set[int]] = []
    for size in range(1, 6):
        for chosen in itertools.combinations(range(5), size):
            is_new = not any(cut <= set(chosen) for cut in cuts)
            if is_new and 3 not in reached_nodes(bridge(), frozenset(chosen), frozenset()):
                cuts.append(set(chosen))
    assert [{i + 1 for i in cut} for cut in cuts] == [{1, 4}, {2, 5}, {1, 3, 5}, {2, 3, 4}]


def test_what_inspections_teach() -> None:
    learned = Rate(Per.NIGHT, 1.0, 1.0).learn(bad=1, watched=10)
    assert (learned.bad, learned.good) == (2.0, 10.0)
    assert 1.0 - learned.mean == pytest.approx(0.8333, abs=5e-5)
    assert float(stats.beta.ppf(0.05, learned.good, learned.bad)) == pytest.approx(0.6356, abs=5e-5)
    hourly = replace(learned, per=Per.HOUR, bad=0.5, good=100.0).learn(bad=2, watched=50)
    assert hourly.mean == pytest.approx(2.5 / 150)


@pytest.mark.parametrize(
    ("mean", "count"),
    [(1.0, 3), (2.0, 5), (0.2, 1), (45 * 90 * 24 / 100e3, 3), (45 * 90 * 24 / 200e3, 2), (45 * 90 * 24 / 300e3, 1)],
)
def test_spares(mean: float, count: int) -> None:
    assert spares_needed(mean, 0.95) == count
