"""After the show, on one page: what was promised, what happened, what it cost, what to change."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from functools import cache
from importlib import resources

from lampwright.faults import work_out_odds
from lampwright.faults.every import SILENCES, UNPOWERS, Body
from lampwright.faults.kinds import FaultKind, all_kinds
from lampwright.findings.model import Finding, Severity
from lampwright.findings.pages import explain
from lampwright.parts import catalogue_currency
from lampwright.stock import Inspection
from lampwright.strike.form import FormFailure
from lampwright.strike.reclaim import Reclaimed
from lampwright.units import format_quantity

MOST_LINES = 8
"""Of each part of the page."""

_TAKES_ALL = frozenset(kind.value for kind in (*UNPOWERS, *SILENCES) if all_kinds()[kind].lasts > 10.0)


@dataclass(frozen=True)
class Report:
    """The page, part by part, each a list of sentences."""

    name: str
    promised: tuple[str, ...]
    happened: tuple[str, ...]
    cost: tuple[str, ...]
    change: tuple[str, ...]
    warned: tuple[str, ...]
    """Findings against what came: warned and came, came unwarned, warned of nothing."""


def report_on(
    body: Body,
    inspection: Inspection,
    failures: Sequence[FormFailure],
    reclaimed: Reclaimed,
    findings: Sequence[Finding],
) -> Report:
    """Return the report on a piece that was inspected, with the findings that its check gave."""
    came = Counter(each.failure.kind for each in failures)
    return Report(
        body.piece.brief.name,
        _promised(body),
        _happened(body, inspection, failures),
        _cost(reclaimed),
        tuple(f"{_capital(_title(kind))}: {_small(advice()[kind].do)}" for kind, _ in came.most_common(MOST_LINES))
        or ("Nothing failed: nothing.",),
        _warned(came, findings),
    )


def _promised(body: Body) -> tuple[str, ...]:
    brief, odds = body.piece.brief, work_out_odds(body)
    run_time, coldest = format_quantity(brief.run_time, "time"), f"{brief.coldest - 273.15:.3g} °C"
    survive = brief.survive
    failures = "one failure" if survive.failures == 1 else f"{survive.failures} failures"
    return (
        f"{run_time} of light down to {coldest}.",
        f"{100 * survive.lit:.0f} % of the circuits lit after {failures}.",
        f"That enough stays lit through one evening: {100 * odds.holds:.1f} %, by the judged rates.",
    )


def _happened(body: Body, inspection: Inspection, failures: Sequence[FormFailure]) -> tuple[str, ...]:
    nights = "one night" if inspection.nights == 1 else f"{inspection.nights} nights"
    out = {each.row.circuit for each in failures if each.failure.kind in _TAKES_ALL}
    for each in failures:
        if each.failure.kind == FaultKind.OUTLET_OFF.value:
            out |= {one.name for one in body.anatomies if each.row.thing == f"outlet {one.outlet}"}
    n_circuit = len(body.anatomies)
    whole = n_circuit - len(out)
    failed = {0: "nothing", 1: "one thing"}.get(len(failures), f"{len(failures)} things")
    told = [
        f"{nights}, {inspection.hours:.3g} h under power, inspected on {inspection.date}; {failed} failed.",
        f"{whole} of {n_circuit} circuits were never out as a whole: {100 * whole / n_circuit:.0f} %.",
    ]
    for each in failures[:MOST_LINES]:
        note = f"; {each.failure.note}" if each.failure.note else ""
        told.append(f"{each.told()}{note}.")
    if len(failures) > MOST_LINES:
        told.append(f"And {len(failures) - MOST_LINES} more, in the stock book.")
    return tuple(told)


def _cost(reclaimed: Reclaimed) -> tuple[str, ...]:
    currency = catalogue_currency()
    return (
        f"Parts that were in it: {reclaimed.spent:.2f} {currency} by the catalogue's judged prices, without small "
        "parts, spares and what was left of lengths.",
        f"Back on the shelf: worth {reclaimed.came_back:.2f} {currency}; net {reclaimed.net:.2f} {currency}.",
        f"To the bin: {1e3 * reclaimed.waste:.0f} g of what the catalogue knows the mass of.",
    )


def _warned(came: Mapping[str, int], findings: Sequence[Finding]) -> tuple[str, ...]:
    checked = {finding.code for finding in findings}
    raised = {finding.code for finding in findings if finding.severity in (Severity.WARN, Severity.FAIL)}
    told, useful = [], set[str]()
    for kind, count in came.items():
        looks = checked & set(advice()[kind].codes)
        codes = raised & looks
        useful |= codes
        times = "once" if count == 1 else f"{count} times"
        if codes:
            answer = f"{_named(codes)} had warned of it"
        elif looks:
            answer = f"nothing had warned of it; {_named(looks)} passed"
        else:
            answer = "no check of this piece looks for it"
        told.append(f"{_capital(_title(kind))} ({times}): {answer}.")
    idle = raised - useful
    last = [f"Warned, and nothing came of it this time: {_named(idle)}."] if idle else []
    return (*told[: MOST_LINES - len(last)], *last) or ("Nothing was warned of, and nothing came.",)


def _named(codes: Set[str]) -> str:
    """Return codes with the names of what they find."""
    return ", ".join(f"{code} {explain(code).fault}" for code in sorted(codes))


def _title(kind: str) -> str:
    """Return what a kind of failure is called, such as "the pack is empty"."""
    known = {each.value for each in FaultKind}
    return all_kinds()[FaultKind(kind)].title if kind in known else kind.replace("-", " ")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]


@dataclass(frozen=True)
class Advice:
    """What to do after a kind of fault came."""

    codes: tuple[str, ...]
    """Of the findings that look for it."""
    do: str


@cache
def advice() -> Mapping[str, Advice]:
    """Return by kind of fault what to change, and what warns of it."""
    text = resources.files("lampwright.strike").joinpath("advice.toml").read_text(encoding="utf-8")
    return {kind: Advice(tuple(row["codes"]), row["do"]) for kind, row in tomllib.loads(text).items()}
