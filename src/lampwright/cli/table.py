"""Findings as a table on the terminal, and as JSON."""

from __future__ import annotations

import json
from collections.abc import Sequence

from rich import box
from rich.console import Console, ConsoleOptions, RenderResult
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from lampwright.findings.grouping import Row, about, check_by_check, count_line, margin_text, rows
from lampwright.findings.model import Finding, Severity

WIDE = 150
"""Columns from which what was checked and what to do stand in the table itself."""

NARROW = 64
"""Columns below which figures in columns would be broken up letter by letter."""

STYLES = {
    Severity.PASS: "green",
    Severity.NOTE: "cyan",
    Severity.WARN: "yellow",
    Severity.FAIL: "bold red",
}

HEADINGS = ("code", "about", "result", "value", "limit", "margin")


class FindingsTable:
    """Findings, laid out for the width at hand.

    Circuits with the same answer share a row. A wide terminal gets everything in one table. On a
    narrow one, and in a pipe, what was checked stands below each row, and what needs doing follows
    below the table in full sentences. A very narrow one gets lines in place of columns.

    Parameters
    ----------
    circuits
        Names of all circuits, for "all 4"; otherwise whatever the findings are about.
    """

    def __init__(self, findings: Sequence[Finding], circuits: Sequence[str] = ()) -> None:
        self.findings = findings
        self.everyone = tuple(circuits) or tuple(dict.fromkeys(finding.subject for finding in findings))

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        if options.max_width >= WIDE:
            yield self._wide_table(box.SIMPLE_HEAD if console.is_terminal else None)
        else:
            is_very_narrow = options.max_width < NARROW
            yield from self._lines() if is_very_narrow else self._narrow_rows(options.max_width)
            yield from self._things_to_do()
        yield Text(count_line(self.findings), style="bold")

    def _wide_table(self, lines: box.Box | None) -> Table:
        table = Table(box=lines, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
        for heading, ratio in (("code", 0), ("about", 0), ("checked", 4), ("result", 0), ("value", 3), ("limit", 3)):
            table.add_column(heading, ratio=ratio or None)
        table.add_column("margin", no_wrap=True, justify="right")
        table.add_column("what to do", ratio=4)
        for row in rows(self.findings, self.everyone):
            code, about_whom, result, value, limit, margin = _cells(row)
            table.add_row(code, about_whom, row.finding.summary, result, value, limit, margin, row.finding.do)
        return table

    def _narrow_rows(self, width: int) -> RenderResult:
        """Yield each row on its own, so that what was checked can run across below it."""
        answers = rows(self.findings, self.everyone)
        code = max((len(row.finding.code) for row in answers), default=4)
        whom = min(16, max(5, *(len(row.about) for row in answers)))
        margin = max(6, *(len(margin_text(row.finding.margin)) for row in answers))
        rest = max(8, width - code - whom - 6 - margin - 5 * 2)
        widths = (code, whom, 6, rest // 2, rest - rest // 2, margin)
        yield _line(widths, *(Text(heading, style="bold") for heading in HEADINGS))
        for row in answers:
            yield _line(widths, *_cells(row))
            yield Padding(Text(row.finding.summary, style="dim"), (0, 0, 0, 2))

    def _lines(self) -> RenderResult:
        """Yield each answer as a few short lines, for a terminal too narrow for columns."""
        for row in rows(self.findings, self.everyone):
            code, about_whom, result, value, limit, margin = _cells(row)
            yield Text.assemble(code, "  ", about_whom, "  ", result)
            yield Padding(Text(row.finding.summary, style="dim"), (0, 0, 0, 2))
            figures = [part for part in (value, limit) if part.plain]
            if margin.plain:
                figures.append(Text.assemble("margin ", margin))
            yield Padding(Text("; ").join(figures), (0, 0, 0, 2))

    def _things_to_do(self) -> RenderResult:
        """Say once what several circuits have in common."""
        alike: dict[tuple[str, Severity, str, str], list[str]] = {}
        for finding in check_by_check(self.findings):
            if finding.do:
                key = (finding.code, finding.severity, finding.summary, finding.do)
                alike.setdefault(key, []).append(finding.subject)
        for (code, severity, summary, do), subjects in alike.items():
            what = f"{code} {about(subjects, self.everyone)}: {summary}"
            yield ""
            yield Text.assemble((severity.value, STYLES[severity]), " ", what)
            yield Padding(Text(f"do: {do}"), (0, 0, 0, 5), expand=False)
        yield ""


def _cells(row: Row) -> tuple[Text, ...]:
    """Return code, whom it is about, result, value, limit and margin."""
    finding = row.finding
    plain = [Text(text) for text in (finding.value, finding.limit, margin_text(finding.margin))]
    result = Text(finding.severity.value, style=STYLES[finding.severity])
    return (Text(finding.code), Text(row.about), result, *plain)


def _line(widths: Sequence[int], *cells: Text) -> Table:
    """Return cells side by side in columns of these widths."""
    grid = Table.grid(padding=(0, 2, 0, 0), pad_edge=False)
    for width, heading in zip(widths, HEADINGS, strict=True):
        grid.add_column(width=width, justify="right" if heading == "margin" else "left")
    grid.add_row(*cells)
    return grid


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
            "moment_s": finding.moment,
        }
        for finding in findings
    ]
    has_passed = all(finding.severity is not Severity.FAIL for finding in findings)
    return json.dumps({"piece": name, "passed": has_passed, "findings": rows, **more}, indent=2, ensure_ascii=False)
