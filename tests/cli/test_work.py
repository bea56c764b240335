"""What the piece file says of money and hours holds, unless an option says otherwise."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Command


@pytest.fixture
def stated(folder: Path) -> Path:
    file = folder / "small.toml"
    text = file.read_text(encoding="utf-8")
    text = text.replace("\nsurvive", '\nbudget = 1\ncurrency = "GBP"\nsurvive', 1)
    text += '\n[work]\nbegin = 2026-11-02\nfrom_hour = 9\nhours = "90 min"\nhelpers = 1\n'
    file.write_text(text, encoding="utf-8")
    return file


def test_the_briefs_budget_holds(stated: Path, lampwright: Command) -> None:
    done = lampwright("shopping", "small.toml")
    assert stated.is_file()
    assert done.code == 1
    assert "budget 1.00 GBP" in done.out
    done = lampwright("shopping", "small.toml", "--budget", "100000", "--currency", "CHF")
    assert done.code == 0
    assert "budget 100000.00 CHF" in done.out


def test_the_files_hours_hold(stated: Path, lampwright: Command) -> None:
    plan = json.loads(lampwright("week", str(stated), "--json").out)
    works = [task for task in plan["tasks"] if task["worker"] >= 0]
    assert min(task["from"] for task in works) >= "2026-11-02T09:00:00"
    short = [task for task in works if task["from"][:10] == task["to"][:10]]
    assert short
    assert all(task["from"][11:] >= "09:00:00" and task["to"][11:] <= "10:30:00" for task in short)
    assert {task["worker"] for task in works} == {0, 1}


def test_an_option_comes_before_the_file(stated: Path, lampwright: Command) -> None:
    options = ("--begin", "2026-11-05", "--from-hour", "20", "--hours", "2", "--helpers", "0")
    plan = json.loads(lampwright("week", str(stated), "--json", *options).out)
    works = [task for task in plan["tasks"] if task["worker"] >= 0]
    assert min(task["from"] for task in works) >= "2026-11-05T20:00:00"
    assert {task["worker"] for task in works} == {0}
