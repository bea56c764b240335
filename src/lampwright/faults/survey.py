"""The answer for a whole piece: its worst faults, its worst pairs, what breaks the demand, and the finding."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lampwright.faults.arrangements import cheapest_variant
from lampwright.faults.cost import (
    PASSING,
    Outage,
    circuits_needed,
    joint_outages,
    shared_outages,
    single_outages,
    smallest_breaks,
    worst_pairs,
)
from lampwright.faults.every import Body, PieceFault, embody, every_fault
from lampwright.faults.kinds import all_kinds
from lampwright.faults.odds import Odds
from lampwright.findings.model import Finding, Severity
from lampwright.layout.model import Layout

N_WORST_PAIR = 10

BASIS = "every fault and every pair; a circuit is lit while half of its pixels show the show"

JUDGED = "exact, from judged rates; replace them by what your own inspections taught"
LEARNED = "exact, from judged rates and what your own inspections taught"


@dataclass(frozen=True)
class Survey:
    """Every fault of a piece, weighed."""

    body: Body
    faults: tuple[PieceFault, ...]
    singles: tuple[Outage, ...]
    """By what they cost, worst first."""
    pairs: tuple[Outage, ...]
    """The worst of all pairs."""
    breaks: tuple[tuple[str, ...], ...]
    """Minimal sets of up to three faults that leave too few circuits lit."""

    def worst_single(self) -> Outage:
        """Return the lasting fault that leaves the fewest circuits lit, and of these the fewest pixels."""
        lasting = [each for each in self.singles if each.lasts > PASSING]
        return min(lasting, key=lambda each: (each.circuits_lit, each.pixels_lit))


def survey(layout: Layout) -> Survey:
    """Return every fault of a piece and what it costs."""
    body = embody(layout)
    faults = every_fault(body)
    singles = single_outages(body, faults)
    joint = joint_outages(body, faults)
    return Survey(
        body,
        faults,
        tuple(singles),
        tuple(worst_pairs(body, singles, joint, N_WORST_PAIR)),
        tuple(smallest_breaks(body, [*singles, *joint, *shared_outages(body, singles)])),
    )


def judge_survival(found: Survey) -> Finding:
    """Return whether the brief's demand holds after as many faults as it names.

    With no fault demanded it holds by itself. Up to three are proven by the minimal sets; beyond that it is told as
    not proven.
    """
    brief = found.body.piece.brief
    n_circuit = len(found.body.anatomies)
    needed = circuits_needed(found.body)
    demand = brief.survive
    limit = f"{needed} of {n_circuit} circuits lit after {_faults(demand.failures)}"
    breaking = next((names for names in found.breaks if len(names) <= demand.failures), None)
    if demand.failures == 0:
        value = "nothing has to be survived"
        return Finding("FAULT-001", Severity.PASS, brief.name, _holds(0), value, limit, None, "", BASIS)
    if breaking is not None:
        value = f"broken by {'; '.join(breaking)}"
        summary = f"{_faults(len(breaking))} leave{'s' if len(breaking) == 1 else ''} less lit than the brief demands"
        return Finding("FAULT-001", Severity.FAIL, brief.name, summary, value, limit, None, _remedy(found), BASIS)
    worst = found.worst_single()
    value = (
        f"worst: {worst.names[0]}; {round(worst.circuits_lit * n_circuit)} of {n_circuit} circuits and "
        f"{100 * worst.pixels_lit:.0f} % of pixels lit"
    )
    if demand.failures > 3:
        do = "count on three at most: more than that isn't searched through"
        summary = "survives three faults at least; more aren't searched through"
        return Finding("FAULT-001", Severity.WARN, brief.name, summary, value, limit, None, do, BASIS)
    return Finding("FAULT-001", Severity.PASS, brief.name, _holds(demand.failures), value, limit, None, "", BASIS)


def _holds(failures: int) -> str:
    if failures == 0:
        return "the brief demands nothing of the piece once something has failed"
    return f"whichever {_faults(failures)} happen{'s' if failures == 1 else ''}, enough stays lit"


def _remedy(found: Survey) -> str:
    enough = cheapest_variant(found.body)
    if enough is None:
        return (
            "no arrangement that the program knows meets it: put the pixels on more members, or ask for less; "
            "lampwright faults shows each fault and what each arrangement leaves lit"
        )
    extra = enough.extra
    return (
        f"{enough.name} would do, for about {extra.money:.0f} more in money and {extra.hours:.1f} h more of work; "
        "lampwright faults --arrangements compares, docs/faults.md tells what the figures are"
    )


def _faults(count: int) -> str:
    words = {0: "no fault", 1: "one fault", 2: "two faults", 3: "three faults"}
    return words.get(count, f"{count} faults")


def judge_odds(found: Survey, odds: Odds, basis: str = JUDGED) -> Finding:
    """Return the chance that the brief's share of circuits stays lit through the evening, whatever fails."""
    brief = found.body.piece.brief
    kind, weight = odds.weights[0]
    value = f"{percent(odds.holds)}; {percent(odds.low)} to {percent(odds.high)} as far as the rates are known"
    limit = f"{circuits_needed(found.body)} of {len(found.body.anatomies)} circuits lit to the end"
    if weight > 0:
        title = all_kinds()[kind].title
        do = f'most of what is missing comes from "{title}" ({percent(weight)}): see to that first'
    else:
        do = "nothing that can fail breaks the demand"
    summary = "the chance that enough stays lit through the evening"
    return Finding("FAULT-002", Severity.NOTE, brief.name, summary, value, limit, None, do, basis)


def percent(share: float) -> str:
    """Return a chance with two digits of whichever of it and its rest is smaller: "99.87 %"."""
    rest = min(share, 1.0 - share)
    decimals = 1 if rest >= 0.01 or rest <= 0 else min(6, 1 - math.floor(math.log10(100 * rest)))
    return f"{100 * share:.{decimals}f} %"
