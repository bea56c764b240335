"""Rates learned from what was seen, against worked examples of the two conjugate families.

A. Gelman, J. Carlin, H. Stern, D. Dunson, A. Vehtari, D. Rubin: Bayesian Data Analysis, 3rd edition, 2013 (from
memory): section 2.4, girls among births with placenta previa (beta-binomial); section 2.6, deaths from asthma
(gamma-Poisson).
"""

from __future__ import annotations

import pytest
from scipy import stats

from lampwright.faults.kinds import Per, Rate


def test_the_chance_a_night_is_learned_as_the_share_of_girls() -> None:
    # 437 girls of 980 births, uniform prior: Beta(438, 544), mean 0.446, sd 0.016, central 95 % from 0.415 to 0.477
    learned = Rate(Per.NIGHT, 1.0, 1.0).learn(bad=437, watched=980)
    assert (learned.bad, learned.good) == (438, 544)
    assert learned.mean == pytest.approx(0.446, abs=5e-4)
    posterior = stats.beta(learned.bad, learned.good)
    assert posterior.std() == pytest.approx(0.016, abs=5e-4)
    assert posterior.interval(0.95) == pytest.approx((0.415, 0.477), abs=5e-4)


def test_the_rate_an_hour_is_learned_as_deaths_from_asthma() -> None:
    # prior Gamma(3, 5); 3 deaths in an exposure of 2 (hundred thousand person-years): Gamma(6, 7), mean 0.86
    learned = Rate(Per.HOUR, 3.0, 5.0).learn(bad=3, watched=2.0)
    assert (learned.bad, learned.good) == (6.0, 7.0)
    assert learned.mean == pytest.approx(0.86, abs=5e-3)
    assert stats.gamma.sf(1.0, learned.bad, scale=1 / learned.good) == pytest.approx(0.30, abs=5e-3)
    # ten years of it, 30 deaths in an exposure of 20: Gamma(33, 25), mean 1.32
    decade = Rate(Per.HOUR, 3.0, 5.0).learn(bad=30, watched=20.0)
    assert (decade.bad, decade.good) == (33.0, 25.0)
    assert decade.mean == pytest.approx(1.32, abs=5e-3)
    assert stats.gamma.sf(1.0, decade.bad, scale=1 / decade.good) == pytest.approx(0.93, abs=5e-3)
