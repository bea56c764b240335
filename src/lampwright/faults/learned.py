"""Rates after what this maker's own inspections taught: the prior, what was seen, and what that makes together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from scipy.special import betaincinv, gammaincinv  # scipy.stats takes most of a second to load

from lampwright.faults.kinds import FaultKind, Per, Rate, all_kinds
from lampwright.stock import Seen

FEW_PIECES = 10
"""Below so many pieces what was learned is told as little (our choice)."""


@dataclass(frozen=True)
class Learned:
    """One kind of fault, before and after the inspections."""

    kind: FaultKind
    prior: Rate
    seen: Seen
    rate: Rate

    @property
    def span(self) -> tuple[float, float]:
        """Nine in ten of what the rate may be, per night or per hour."""
        low, high = (_quantile(self.rate, q) for q in (0.05, 0.95))
        return low, high


def learned_rates(seen: Mapping[str, Seen]) -> dict[FaultKind, Rate]:
    """Return the rate of each kind, with what was seen added to what is judged.

    Source
    ------
    Beta-binomial and gamma-Poisson updating: :meth:`~lampwright.faults.kinds.Rate.learn`.
    """
    return {kind: _updated(kind, seen.get(kind.value)).rate for kind in FaultKind}


def what_was_learned(seen: Mapping[str, Seen]) -> tuple[Learned, ...]:
    """Return each kind that was watched, those that moved most first."""
    found = [_updated(kind, seen[kind.value]) for kind in FaultKind if kind.value in seen]
    return tuple(sorted(found, key=lambda each: -abs(_moved(each))))


def _updated(kind: FaultKind, seen: Seen | None) -> Learned:
    prior = all_kinds()[kind].rate
    if seen is None:
        return Learned(kind, prior, Seen(0, 0.0, 0), prior)
    # a unit that failed twice in one night was watched for one night only: never more failures than watched
    watched = max(seen.watched, float(seen.failures)) if prior.per is Per.NIGHT else seen.watched
    return Learned(kind, prior, seen, prior.learn(seen.failures, watched))


def _moved(each: Learned) -> float:
    return each.rate.mean / each.prior.mean - 1.0


def _quantile(rate: Rate, share: float) -> float:
    if rate.per is Per.NIGHT:
        return float(betaincinv(rate.bad, rate.good, share))
    return float(gammaincinv(rate.bad, share)) / rate.good
