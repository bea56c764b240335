"""A maker never sees a traceback, and can always stop."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from lampwright.cli import run as run_module
from lampwright.units import MakerError, Problem

Command = Callable[..., Any]


def ending_in(error: BaseException) -> Callable[..., int]:
    """Return a stand-in for the commands that ends in this error."""

    def command(_tokens: list[str], **_options: object) -> int:
        raise error

    return command


def test_interrupting_ends_quietly(lampwright: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run_module, "app", ending_in(KeyboardInterrupt()))
    done = lampwright("check", "small.toml")
    assert (done.code, done.out, done.err) == (130, "", "stopped\n")


def test_our_own_fault_is_one_line_and_asks_for_a_trace(lampwright: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run_module, "app", ending_in(ZeroDivisionError("division by zero")))
    done = lampwright("check", "small.toml")
    assert done.code == 3
    assert done.err == (
        "lampwright has a fault of its own: ZeroDivisionError: division by zero\n"
        "do:      run the same command with --trace and send what it prints\n"
    )


def test_trace_shows_where_our_own_fault_arose(lampwright: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run_module, "app", ending_in(ZeroDivisionError("division by zero")))
    with pytest.raises(ZeroDivisionError, match=r"^division by zero$"):
        lampwright("check", "small.toml", "--trace")


def test_a_folder_that_can_not_be_written_is_the_makers_to_mend(
    lampwright: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(run_module, "app", ending_in(PermissionError(13, "Permission denied", "out")))
    done = lampwright("firmware", "small.toml")
    assert (done.code, done.err) == (2, "error: Permission denied: out\n")


def test_every_problem_is_printed(lampwright: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    problems = [Problem(f"PIECE-00{n}", "wrong", "this", "that", "mend it") for n in (1, 2)]
    monkeypatch.setattr(run_module, "app", ending_in(MakerError(problems)))
    done = lampwright("check", "small.toml")
    assert done.code == 2
    assert done.err == "\n\n".join(problem.render() for problem in problems) + "\n"
