"""The worst faults, the worst pairs, and whether the brief's demand holds."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from lampwright.faults.anatomy import Anatomy, Link, Segment
from lampwright.faults.cost import PASSING, minimal_sets, shared_outages, single_outages, smallest_breaks
from lampwright.faults.every import Body, every_fault, join_damages, show_damage
from lampwright.faults.kinds import FaultKind
from lampwright.faults.survey import judge_survival, survey
from lampwright.findings.model import Severity
from tests.faults.pieces import OF_MAINS, row

BOTH_ENDS = """\
feed = [
  { at = "0 %", wire = "awg-18", length = "0.3 m" },
  { at = "100 %", wire = "awg-18", length = "1 m" },
]
joint = [{ at = "30 %", resistance = "20 mohm" }, { at = "60 %", resistance = "20 mohm" }]
"""


def test_every_kind_of_fault_comes_from_the_piece() -> None:
    found = survey(row(garland=True, feed=BOTH_ENDS))
    assert {fault.kind for fault in found.faults} == set(FaultKind) - OF_MAINS


def test_four_circuits_survive_one_fault_and_not_two() -> None:
    found = survey(row(4, garland=True))
    finding = judge_survival(found)
    assert finding.severity is Severity.PASS
    assert all(len(names) == 2 for names in found.breaks if len(names) < 3)
    assert judge_survival(survey(row(4, failures=2))).severity is Severity.FAIL


def test_a_demand_that_one_fault_breaks_names_it() -> None:
    finding = judge_survival(survey(row(3)))
    assert finding.severity is Severity.FAIL
    assert finding.value == "broken by post 1: the pack is empty"
    assert finding.limit == "3 of 3 circuits lit after one fault"


@pytest.mark.parametrize("garland", [False, True])
def test_no_pair_costs_more_than_the_worst_that_is_told(garland: bool) -> None:
    layout = row(2, length="0.4 m", feed=BOTH_ENDS, garland=garland)
    found = survey(layout)
    body, run_time = found.body, layout.piece.brief.run_time
    costs = []
    faults = [fault for fault in every_fault(body) if fault.lasts > PASSING]
    for one, other in itertools.combinations(faults, 2):
        together = show_damage(body, join_damages(one.damages, other.damages)).lost.mean()
        first, last = sorted((one, other), key=lambda fault: fault.lasts)
        alone = show_damage(body, last.damages).lost.mean()
        short, long = (min(each.lasts, run_time) for each in (first, last))
        costs.append(together * short + alone * (long - short))
    assert found.pairs[0].cost == pytest.approx(max(costs))


def test_a_loop_loses_more_by_two_cuts_than_by_each() -> None:
    found = survey(row(1, feed=BOTH_ENDS))
    links = [fault for fault in found.faults if fault.kind in (FaultKind.RAIL_OPEN, FaultKind.FEED_OPEN)]
    alone = [show_damage(found.body, fault.damages).lost.any() for fault in links]
    assert not any(alone)
    both = join_damages(links[0].damages, links[1].damages)
    assert show_damage(found.body, both).lost.any()


def test_minimal_sets_are_those_of_plain_enumeration() -> None:
    dice = np.random.default_rng(5)
    for _ in range(30):
        keys = {frozenset(int(x) for x in dice.choice(6, dice.integers(1, 4), replace=False)) for _ in range(6)}
        effects = {key: (str(sorted(key)),) for key in keys}
        found = {frozenset(names) for names in minimal_sets(effects, 3, 3)}
        expected = set()
        for size in (1, 2, 3):
            for chosen in itertools.combinations(keys, size):
                breaks = len(frozenset().union(*chosen)) > 3
                needs_all = all(len(frozenset().union(*(c for c in chosen if c is not left))) <= 3 for left in chosen)
                if breaks and needs_all:
                    expected.add(frozenset(str(sorted(key)) for key in chosen))
        assert found == expected


def test_two_posts_that_each_take_a_third_of_a_neighbour_put_it_out_together() -> None:
    def plain(name: str) -> Anatomy:
        part = Segment(0, name, 0, 4, False, (name,))
        return Anatomy(name, 4, (part,), (Link("feed", 0, 1, True),), ((0,),), ("run",), False)

    middle = (
        Segment(0, "post 2", 0, 4, False, ("post 2",)),
        Segment(1, "left", 4, 3, True, ("post 2", "post 1")),
        Segment(2, "right", 7, 3, True, ("post 2", "post 3")),
    )
    feeds = tuple(Link("feed", 0, i + 1, True) for i in range(3))
    second = Anatomy("post 2", 10, middle, feeds, ((0,), (1,), (2,)), ("a", "b", "c"), False)
    piece = row(3, failures=2, lit="33 %").piece
    body = Body(piece, (plain("post 1"), second, plain("post 3")), (0, 4, 14, 18))
    singles = single_outages(body, every_fault(body))
    breaks = smallest_breaks(body, [*singles, *shared_outages(body, singles)])
    assert ("post 1: a member is down", "post 3: a member is down") in breaks
    assert all(len(names) == 3 for names in breaks[1:])
