"""Whoever stops the program, by Ctrl-C or by force, is left with no traceback and no process."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from concurrent.futures import Future
from pathlib import Path

import pytest

from lampwright.workers import Workers, is_worker, report

PROGRAM = """
import os, time
from lampwright.workers import Workers
if __name__ == "__main__":
    try:
        with Workers(2) as workers:
            if {waits}:
                print(*{{workers.submit(os.getpid).result() for _ in range(4)}}, flush=True)
            naps = [workers.submit(time.sleep, 60) for _ in range(2)]
            print("started", flush=True)
            naps[0].result()
    except KeyboardInterrupt:
        print("stopped", flush=True)
"""


def start(folder: Path, waits: bool) -> subprocess.Popen[str]:
    """Start the program in a process group of its own, as a terminal does."""
    script = folder / "program.py"
    script.write_text(PROGRAM.format(waits=waits), encoding="utf-8")
    return subprocess.Popen(
        [sys.executable, str(script)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


def is_there(process: int) -> bool:
    """Return whether a process lives; a dead one that nobody has asked for its exit code doesn't."""
    try:
        state = Path(f"/proc/{process}/stat").read_text(encoding="utf-8").rsplit(")", 1)[1].split()[0]
    except OSError:
        return False
    return state != "Z"


def raise_after(_future: Future[None]) -> None:
    """Fail with work on the way."""
    raise ZeroDivisionError("division by zero")


def test_work_comes_back_with_its_result_and_its_steps() -> None:
    with Workers(2) as workers:
        powers = [workers.submit(pow, 2, n) for n in range(5)]
        workers.submit(report, 3).result()
        assert [future.result() for future in powers] == [1, 2, 4, 8, 16]
        assert workers.steps(patience=10) == 3
        assert workers.steps(patience=0.01) == 0


def test_a_worker_knows_that_work_is_shared_out_already() -> None:
    assert not is_worker()
    with Workers(1) as workers:
        assert workers.submit(is_worker).result()


def test_an_error_in_a_worker_is_the_programs() -> None:
    with Workers(1) as workers, pytest.raises(ZeroDivisionError, match=r"^integer (division or )?modulo by zero$"):
        workers.submit(divmod, 1, 0).result()


def test_leaving_by_an_error_does_not_wait_for_long_work() -> None:
    begun = time.monotonic()
    with pytest.raises(ZeroDivisionError, match=r"^division by zero$"), Workers(1) as workers:
        raise_after(workers.submit(time.sleep, 60))
    assert time.monotonic() - begun < 30


@pytest.mark.parametrize("waits", [False, True], ids=["while they start", "while they work"])
def test_ctrl_c_is_answered_by_the_program_alone(tmp_path: Path, waits: bool) -> None:
    program = start(tmp_path, waits)
    assert program.stdout is not None
    while program.stdout.readline() != "started\n":
        assert program.poll() is None
    os.killpg(program.pid, signal.SIGINT)
    out, err = program.communicate(timeout=30)
    assert (program.returncode, out, err) == (0, "stopped\n", "")


def test_workers_end_when_the_program_is_killed(tmp_path: Path) -> None:
    program = start(tmp_path, waits=True)
    assert program.stdout is not None
    workers = [int(word) for word in program.stdout.readline().split()]
    assert workers
    assert all(is_there(worker) for worker in workers)
    program.kill()
    program.communicate(timeout=30)
    deadline = time.monotonic() + 20
    while any(is_there(worker) for worker in workers) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not any(is_there(worker) for worker in workers)
