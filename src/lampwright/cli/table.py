"""Findings as a table on the terminal, and as JSON."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence

from rich import box
from rich.console import Console, ConsoleOptions, RenderResult
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from lampwright.findings.model import Finding, Severity

WIDE = 150
"""Columns from which what was checked and what to do stand in the table itself."""

STYLES = {
    Severity.PASS: "green",
    Severity.NOTE: "cyan",
    Severity.WARN: "yellow",
    Severity.FAIL: "bold red",
}

PLURALS = {Severity.FAIL: "failed", Severity.WARN: "with a warning", Severity.NOTE: "with a note"}


class FindingsTable:
    """Findings, laid out for the width at hand.

    A wide terminal gets everything in one table. On a narrow one, and in a pipe, the table keeps to
    the figures, and what needs doing follows below it in full sentences.
    """

    def __init__(self, findings: Sequence[Finding]) -> None:
        self.findings = findings

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        is_wide = options.max_width >= WIDE
        yield self._table(is_wide, box.SIMPLE_HEAD if console.is_terminal else None)
        if not is_wide:
            yield from self._things_to_do()
        yield Text(count_line(self.findings), style="bold")

    def _table(self, is_wide: bool, lines: box.Box | None) -> Table:
        table = Table(box=lines, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
        table.add_column("code", no_wrap=True)
        table.add_column("about", min_width=6)
        if is_wide:
            table.add_column("checked", ratio=4)
        table.add_column("result", no_wrap=True)
        table.add_column("value", ratio=None if is_wide else 2, overflow="fold")
        table.add_column("limit", ratio=None if is_wide else 2, overflow="fold")
        table.add_column("margin", no_wrap=True, justify="right")
        if is_wide:
            table.add_column("what to do", ratio=4)
        for finding in self.findings:
            result = Text(finding.severity.value, style=STYLES[finding.severity])
            margin = margin_text(finding.margin)
            row: list[str | Text] = [finding.code, finding.subject, result, finding.value, finding.limit, margin]
            if is_wide:
                row.insert(2, finding.summary)
                row.append(finding.do)
            table.add_row(*row)
        return table

    def _things_to_do(self) -> RenderResult:
        """Say once what several circuits have in common."""
        alike: dict[tuple[str, Severity, str, str], list[str]] = {}
        for finding in self.findings:
            if finding.do:
                key = (finding.code, finding.severity, finding.summary, finding.do)
                alike.setdefault(key, []).append(finding.subject)
        for (code, severity, summary, do), subjects in alike.items():
            what = f"{code} {', '.join(subjects)}: {summary}"
            yield ""
            yield Text.assemble((severity.value, STYLES[severity]), " ", what)
            yield Padding(Text(f"do: {do}"), (0, 0, 0, 5), expand=False)
        yield ""


def margin_text(margin: float | None) -> str:
    """Return a margin in whole percent, nothing where it has no meaning."""
    return "" if margin is None else f"{margin * 100:.0f} %"


def count_line(findings: Sequence[Finding]) -> str:
    """Return how many checks there were and how they came out."""
    counts = Counter(finding.severity for finding in findings)
    parts = [f"{counts[severity]} {words}" for severity, words in PLURALS.items() if counts[severity]]
    rest = f"{counts[Severity.PASS]} passed"
    checks = "1 check" if len(findings) == 1 else f"{len(findings)} checks"
    return f"{checks}: " + ", ".join([*parts, rest]) + ". lampwright explain CODE tells more."


def findings_json(name: str, findings: Sequence[Finding], **more: object) -> str:
    """Return findings as JSON, with whatever else the command has to tell."""
    rows = [
        {
            "code": finding.code,
            "result": finding.severity.value,
            "about": finding.subject,
            "checked": finding.summary,
            "value": finding.value,
            "limit": finding.limit,
            "margin": finding.margin,
            "do": finding.do,
            "basis": finding.basis,
        }
        for finding in findings
    ]
    has_passed = all(finding.severity is not Severity.FAIL for finding in findings)
    return json.dumps({"piece": name, "passed": has_passed, "findings": rows, **more}, indent=2, ensure_ascii=False)
