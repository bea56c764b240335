"""What inspections taught changes the odds, and says how little three pieces are."""

from __future__ import annotations

import pytest
from scipy import stats
from scipy.integrate import quad

from lampwright.faults.every import embody
from lampwright.faults.kinds import FaultKind, Per, all_kinds
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
    quiet = work_out_odds(body, learned_rates({("pack-cold", ""): Seen(0, 300.0, 12)})).holds
    bad = work_out_odds(body, learned_rates({("pack-cold", ""): Seen(30, 300.0, 12)})).holds
    assert bad < judged < quiet


def test_what_moved_most_comes_first_with_what_it_may_be() -> None:
    learned = what_was_learned({("pack-cold", ""): Seen(6, 40.0, 3), ("plug-out", ""): Seen(0, 1.0, 3)})
    assert [each.kind for each in learned] == [FaultKind.PACK_COLD, FaultKind.PLUG_OUT]
    first = learned[0]
    # by hand, Beta(0.5, 24.5) and 6 failures in 40 nights
    assert first.rate.mean == pytest.approx(6.5 / 65)
    low, high = first.span
    assert low < first.rate.mean < high


@pytest.mark.parametrize(("failures", "watched"), [(0, 8.0), (3, 40.0), (30, 600.0)])
def test_nine_in_ten_is_the_central_share_of_what_the_rate_may_be(failures: int, watched: float) -> None:
    # against scipy.stats: the share of its density between the two ends, a twentieth left over on either side
    for kind in (FaultKind.PACK_COLD, FaultKind.BOARD_DEAD):
        (each,) = what_was_learned({(kind.value, ""): Seen(failures, watched, 3)})
        prior = all_kinds()[kind].rate
        if prior.per is Per.NIGHT:
            spread = stats.beta(prior.bad + failures, prior.good + watched - failures)
        else:
            spread = stats.gamma(prior.bad + failures, scale=1 / (prior.good + watched))
        low, high = each.span
        assert (spread.cdf(low), spread.sf(high)) == pytest.approx((0.05, 0.05))
        assert quad(spread.pdf, low, high, limit=200)[0] == pytest.approx(0.9, rel=1e-4)
        assert each.rate.mean == pytest.approx(spread.mean())
        assert each.rate.watched == pytest.approx(prior.watched + watched)


def test_three_pieces_say_less_than_thirty() -> None:
    few, many = (what_was_learned({("pack-cold", ""): Seen(n, 20.0 * n, n)})[0].span for n in (3, 30))
    assert many[1] / many[0] < few[1] / few[0]


def test_more_failures_than_nights_are_never_more_than_always() -> None:
    rate = learned_rates({("wet-joint", ""): Seen(5, 2.0, 1)})[FaultKind.WET_JOINT]
    assert 0 < rate.mean < 1
