"""What inspections taught changes the odds, and says how little three pieces are."""

from __future__ import annotations

import pytest

from lampwright.faults.every import embody
from lampwright.faults.kinds import FaultKind, all_kinds
from lampwright.faults.learned import learned_rates, what_was_learned
from lampwright.faults.odds import work_out_odds
from lampwright.stock import Seen
from tests.faults.pieces import row


def test_with_nothing_seen_the_judged_rates_stand() -> None:
    assert learned_rates({}) == {kind: facts.rate for kind, facts in all_kinds().items()}
    assert what_was_learned({}) == ()


def test_quiet_nights_raise_the_odds_and_failures_lower_them() -> None:
    body = embody(row(4, lit="100 %"))
    judged = work_out_odds(body).holds
    quiet = work_out_odds(body, learned_rates({"pack-cold": Seen(0, 300.0, 12)})).holds
    bad = work_out_odds(body, learned_rates({"pack-cold": Seen(30, 300.0, 12)})).holds
    assert bad < judged < quiet


def test_what_moved_most_comes_first_with_what_it_may_be() -> None:
    learned = what_was_learned({"pack-cold": Seen(6, 40.0, 3), "plug-out": Seen(0, 1.0, 3)})
    assert [each.kind for each in learned] == [FaultKind.PACK_COLD, FaultKind.PLUG_OUT]
    first = learned[0]
    # by hand, Beta(0.5, 24.5) and 6 failures in 40 nights
    assert first.rate.mean == pytest.approx(6.5 / 65)
    low, high = first.span
    assert low < first.rate.mean < high


def test_more_failures_than_nights_are_never_more_than_always() -> None:
    rate = learned_rates({"wet-joint": Seen(5, 2.0, 1)})[FaultKind.WET_JOINT]
    assert 0 < rate.mean < 1
