"""A table that wraps badly or hides a failure is worse than none."""

from __future__ import annotations

import dataclasses
import io
import json

import pytest
from rich.console import Console

from lampwright.cli.table import FindingsTable, findings_json
from lampwright.findings.grouping import about, count_line, margin_text
from lampwright.findings.model import Finding, Severity


def finding(severity: Severity, subject: str = "arch 1", do: str = "") -> Finding:
    """Return a finding that stands for any."""
    return Finding("POWER-001", severity, subject, "peak draw", "2.5 A", "at most 2 A", -0.25, do, "by hand")


def printed(findings: list[Finding], width: int, is_terminal: bool = False) -> str:
    """Return the table as it appears at this width."""
    buffer = io.StringIO()
    console = Console(file=buffer, width=width, force_terminal=is_terminal, color_system=None)
    console.print(FindingsTable(findings))
    return "\n".join(line.rstrip() for line in buffer.getvalue().split("\n"))


def test_a_wide_terminal_gets_what_was_checked_and_what_to_do_in_one_row() -> None:
    text = printed([finding(Severity.FAIL, do="choose a stronger pack")], 170)
    row = next(line for line in text.splitlines() if line.startswith("POWER-001"))
    for part in ("arch 1", "peak draw", "fail", "2.5 A", "at most 2 A", "-25 %", "choose a stronger pack"):
        assert part in row


def test_a_narrow_one_gets_the_figures_and_then_what_to_do() -> None:
    text = printed([finding(Severity.FAIL, do="choose a stronger pack"), finding(Severity.PASS)], 80)
    assert text == (
        "code       about   result  value                  limit                   margin\n"
        "POWER-001  arch 1  fail    2.5 A                  at most 2 A              -25 %\n"
        "  peak draw\n"
        "POWER-001  arch 1  pass    2.5 A                  at most 2 A              -25 %\n"
        "  peak draw\n"
        "\n"
        "fail POWER-001 arch 1: peak draw\n"
        "     do: choose a stronger pack\n"
        "\n"
        "2 checks: 1 failed, 1 passed. lampwright explain CODE tells more.\n"
    )


def test_what_several_circuits_have_in_common_is_said_once() -> None:
    same = [finding(Severity.WARN, f"arch {n}", "test yours first") for n in (1, 2, 3)]
    text = printed([*same, finding(Severity.PASS, "arch 4")], 80)
    assert "warn POWER-001 arch 1 to 3: peak draw\n" in text
    assert text.count("test yours first") == 1
    assert len([line for line in text.splitlines() if line.startswith("POWER-001")]) == 2


@pytest.mark.parametrize(
    ("subjects", "names"),
    [
        (["arch 1", "arch 2", "arch 3", "mast"], "all 4"),
        (["arch 1", "arch 2", "arch 3"], "arch 1 to 3"),
        (["arch 1", "arch 3"], "arch 1, arch 3"),
        (["arch 3", "mast"], "arch 3, mast"),
        (["mast"], "mast"),
    ],
)
def test_whom_a_row_is_about_is_never_left_open(subjects: list[str], names: str) -> None:
    assert about(subjects, ["arch 1", "arch 2", "arch 3", "mast"]) == names


@pytest.mark.parametrize("width", [40, 60, 80, 120, 200])
def test_no_line_is_longer_than_the_terminal(width: int) -> None:
    long = finding(Severity.FAIL, "the north-eastern arch by the pond", "choose a stronger pack " * 8)
    assert max(len(line) for line in printed([long], width, is_terminal=True).splitlines()) <= width


def test_a_very_narrow_terminal_gets_whole_words_in_place_of_columns() -> None:
    text = printed([finding(Severity.FAIL, do="choose a stronger pack")], 40)
    assert text == (
        "POWER-001  arch 1  fail\n"
        "  peak draw\n"
        "  2.5 A; at most 2 A; margin -25 %\n"
        "\n"
        "fail POWER-001 arch 1: peak draw\n"
        "     do: choose a stronger pack\n"
        "\n"
        "1 check: 1 failed, 0 passed. lampwright\n"
        "explain CODE tells more.\n"
    )


def test_all_circuits_are_called_so_beside_findings_on_the_piece() -> None:
    findings = [*(finding(Severity.PASS, f"arch {n}") for n in (1, 2)), finding(Severity.PASS, "Frost Gate")]
    buffer = io.StringIO()
    Console(file=buffer, width=80).print(FindingsTable(findings[:2], ["arch 1", "arch 2"]))
    assert "all 2" in buffer.getvalue()
    assert about(["Frost Gate"], ["arch 1", "arch 2"]) == "Frost Gate"


def test_what_to_do_follows_check_by_check_as_the_rows_do() -> None:
    first, second = finding(Severity.FAIL, "arch 1", "one"), finding(Severity.FAIL, "arch 2", "two")
    other = dataclasses.replace(first, code="POWER-002", do="three")
    text = printed([first, other, second], 80)
    assert [line.split("do: ")[1] for line in text.splitlines() if "do: " in line] == ["one", "two", "three"]


@pytest.mark.parametrize(
    ("margin", "text"),
    [(0.2, "20 %"), (-0.67, "-67 %"), (0.0, "0 %"), (None, ""), (-306.83, "<-999 %"), (19.82, ">999 %")],
)
def test_margins_read_as_percent(margin: float | None, text: str) -> None:
    assert margin_text(margin) == text


def test_the_last_line_counts_each_kind() -> None:
    kinds = [Severity.PASS, Severity.PASS, Severity.NOTE, Severity.WARN, Severity.FAIL]
    assert count_line([finding(kind) for kind in kinds]) == (
        "5 checks: 1 failed, 1 with a warning, 1 with a note, 2 passed. lampwright explain CODE tells more."
    )
    assert count_line([finding(Severity.PASS)]).startswith("1 check: 1 passed.")


def test_json_fails_only_for_failures() -> None:
    assert json.loads(findings_json("x", [finding(Severity.WARN)]))["passed"] is True
    assert json.loads(findings_json("x", [finding(Severity.FAIL)]))["passed"] is False
