"""A maker never sees a traceback, and can always stop."""

from __future__ import annotations

import os
import shlex
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from lampwright.cli import run as run_module
from lampwright.cli import start
from lampwright.units import MakerError, Problem
from lampwright.workers import Workers

Command = Callable[..., Any]

LAMPWRIGHT = (sys.executable, "-c", "from lampwright.cli import main; main()")


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
    assert done.code == 2
    assert done.err == (
        "error COMMAND-002: the computer refuses a file: Permission denied\n"
        "found:   out\n"
        "allowed: files and folders that you may read and write, on a disk with room\n"
        "do:      free some room, change the permissions, or choose another folder   (lampwright explain COMMAND-002)\n"
    )


def test_too_little_memory_is_told_as_such(lampwright: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run_module, "app", ending_in(MemoryError()))
    done = lampwright("check", "small.toml")
    assert done.code == 2
    assert done.err.startswith("error COMMAND-002: the computer has too little memory for this\n")


def test_a_process_that_the_system_ended_is_told_as_such(lampwright: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    def lose_a_worker() -> None:
        with Workers(1) as workers:
            workers.submit(os.kill, workers.submit(os.getpid).result(), signal.SIGKILL).result()

    monkeypatch.setattr(run_module, "app", lambda *_tokens, **_options: lose_a_worker())
    done = lampwright("check", "small.toml")
    assert done.code == 2
    assert done.err.startswith("error COMMAND-002: the computer ended one of the processes that share the work\n")


def test_a_full_disk_behind_the_output_is_told_once() -> None:
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        done = subprocess.run([*LAMPWRIGHT, "--version"], stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr.startswith("error COMMAND-002: the computer refuses a file: No space left on device\n")
    assert done.stderr.count("\n") == 4


def test_a_program_started_without_streams_still_does_its_work() -> None:
    done = subprocess.run(f"{shlex.join(LAMPWRIGHT)} --version >&- 2>&-", shell=True, check=False)
    assert done.returncode == 0


def test_interrupting_while_the_program_loads_ends_quietly(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def load(_name: str) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(start.importlib, "import_module", load)
    with pytest.raises(SystemExit, match=r"^130$"):
        start.main()
    assert capsys.readouterr().err == "stopped\n"


def test_the_way_in_loads_nothing_else() -> None:
    script = (
        "import sys; import lampwright.cli; "
        "print(sorted(name for name in sys.modules if name.split('.')[0] in ('lampwright', 'cyclopts')))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout == "['lampwright', 'lampwright.cli', 'lampwright.cli.start']\n"


def test_every_problem_is_printed(lampwright: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    problems = [Problem(f"PIECE-00{n}", "wrong", "this", "that", "mend it") for n in (1, 2)]
    monkeypatch.setattr(run_module, "app", ending_in(MakerError(problems)))
    done = lampwright("check", "small.toml")
    assert done.code == 2
    assert done.err == "\n\n".join(problem.render() for problem in problems) + "\n"
