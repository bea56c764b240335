"""Findings as readers want them: check by check, equal answers of several circuits in one row."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from lampwright.findings.model import Finding, Severity

PLURALS = {Severity.FAIL: "failed", Severity.WARN: "with a warning", Severity.NOTE: "with a note"}


@dataclass(frozen=True)
class Row:
    """A finding that several circuits share, and whom it is about."""

    finding: Finding
    about: str


def check_by_check(findings: Sequence[Finding]) -> list[Finding]:
    """Return findings sorted by check, in the order in which the checks came up."""
    order = {code: place for place, code in reversed(list(enumerate(f.code for f in findings)))}
    return sorted(findings, key=lambda f: order[f.code])


def rows(findings: Sequence[Finding], everyone: Sequence[str]) -> list[Row]:
    """Return one row for each answer, check by check."""
    alike: dict[tuple[object, ...], list[Finding]] = {}
    for finding in check_by_check(findings):
        margin = margin_text(finding.margin)
        key = (finding.code, finding.severity, finding.summary, finding.value, finding.limit, margin, finding.do)
        alike.setdefault(key, []).append(finding)
    return [Row(same[0], about([f.subject for f in same], everyone)) for same in alike.values()]


def about(subjects: Sequence[str], everyone: Sequence[str]) -> str:
    """Return names in few words: "all 4", or "arch 1 to 3" where neighbours differ by their number."""
    if len(everyone) > 1 and list(subjects) == list(everyone):
        return f"all {len(everyone)}"
    places = [everyone.index(subject) for subject in subjects if subject in everyone]
    stems = {subject.rsplit(" ", 1)[0] for subject in subjects}
    if len(places) > 2 and len(stems) == 1 and places == list(range(places[0], places[0] + len(places))):
        return f"{subjects[0]} to {subjects[-1].rsplit(' ', 1)[-1]}"
    return ", ".join(subjects)


def margin_text(margin: float | None) -> str:
    """Return a margin in whole percent, nothing where it has no meaning; past 999 % only that it is."""
    if margin is None:
        return ""
    percent = round(margin * 100)
    if abs(percent) > 999:
        return ">999 %" if percent > 0 else "<-999 %"
    return f"{percent} %"


def count_line(findings: Sequence[Finding]) -> str:
    """Return how many checks there were and how they came out."""
    counts = Counter(finding.severity for finding in findings)
    parts = [f"{counts[severity]} {words}" for severity, words in PLURALS.items() if counts[severity]]
    rest = f"{counts[Severity.PASS]} passed"
    checks = "1 check" if len(findings) == 1 else f"{len(findings)} checks"
    return f"{checks}: " + ", ".join([*parts, rest]) + ". lampwright explain CODE tells more."
