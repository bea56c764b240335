"""Rates after what this maker's own inspections taught: the prior, what was seen, and what that makes together.

Rates are kept by kind and place. What was seen of a kind at a place that nobody told, as in books of older versions,
is evidence of the kind as a whole: it counts at each of its places, before what was seen there.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass

from scipy.special import betaincinv, gammaincinv  # scipy.stats takes most of a second to load

from lampwright.faults.kinds import PLACED, FaultKind, Per, Place, Rate, Spot, all_kinds
from lampwright.faults.wear import AT_PLACES, Wear, all_wear
from lampwright.stock import Seen

FEW_PIECES = 10
"""Below so many pieces what was learned is told as little (our choice)."""


Watching = Mapping[tuple[str, str], Seen]
"""What was seen by kind and place; the place is empty where a kind has none, or where nobody told it."""


@dataclass(frozen=True)
class Learned:
    """One kind of fault or wear at one place, before and after the inspections."""

    kind: FaultKind | Wear
    place: Place | None
    """``None``: of a kind that has no places, or as a whole."""
    prior: Rate
    seen: Seen
    rate: Rate

    @property
    def title(self) -> str:
        """Such as "a rail is open, at a transition"."""
        facts = all_kinds()[self.kind] if isinstance(self.kind, FaultKind) else all_wear()[self.kind]
        if self.place is not None:
            return f"{facts.title}, {self.place.where}"
        return f"{facts.title}, nobody told where" if self.kind.value in AT_PLACES else facts.title

    @property
    def span(self) -> tuple[float, float]:
        """Nine in ten of what the rate may be, per night or per hour."""
        low, high = (_quantile(self.rate, q) for q in (0.05, 0.95))
        return low, high


def learned_rates(seen: Watching) -> dict[Spot, Rate]:
    """Return the rate of each kind, and of each place that was watched, with what was seen added to what is judged.

    Source
    ------
    Beta-binomial and gamma-Poisson updating: :meth:`~lampwright.faults.kinds.Rate.learn`.
    """
    rates: dict[Spot, Rate] = {kind: _updated(kind, None, seen).rate for kind in FaultKind}
    for kind, place in itertools.product(PLACED, Place):
        if (kind.value, place.value) in seen:
            rates[kind, place] = _updated(kind, place, seen).rate
    return rates


def what_was_learned(seen: Watching) -> tuple[Learned, ...]:
    """Return each kind, and each place of it, that was watched, those that moved most first."""
    kinds: tuple[FaultKind | Wear, ...] = (*FaultKind, *Wear)
    spots = itertools.product(kinds, (None, *Place))
    found = [_updated(*spot, seen) for spot in spots if (spot[0].value, spot[1].value if spot[1] else "") in seen]
    return tuple(sorted(found, key=lambda each: -abs(_moved(each))))


def judged_rates() -> dict[str, Rate]:
    """Return what is judged of every kind of fault and wear, by its name in the stock book."""
    faults = {kind.value: facts.rate for kind, facts in all_kinds().items()}
    return faults | {wear.value: facts.rate for wear, facts in all_wear().items()}


def _updated(kind: FaultKind | Wear, place: Place | None, seen: Watching) -> Learned:
    prior = judged_rates()[kind.value]
    counted = seen.get((kind.value, ""), Seen(0, 0.0, 0))
    if place is not None:
        here = seen[kind.value, place.value]
        # of two counts of pieces, the larger: the same piece may be in both
        counted = Seen(
            counted.failures + here.failures, counted.watched + here.watched, max(counted.n_piece, here.n_piece)
        )
    # a unit that failed twice in one night was watched for one night only: never more failures than watched
    watched = max(counted.watched, float(counted.failures)) if prior.per is Per.NIGHT else counted.watched
    return Learned(kind, place, prior, counted, prior.learn(counted.failures, watched))


def _moved(each: Learned) -> float:
    return each.rate.mean / each.prior.mean - 1.0


def _quantile(rate: Rate, share: float) -> float:
    if rate.per is Per.NIGHT:
        return float(betaincinv(rate.bad, rate.good, share))
    return float(gammaincinv(rate.bad, share)) / rate.good
