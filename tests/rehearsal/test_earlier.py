"""A rehearsal that was run isn't run again, and never stands for another one."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from lampwright.rehearsal import CircuitRehearsal, Earlier, FaultPlan, FaultReport, Part, Plan, rehearse
from lampwright.rehearsal.earlier import MOST_ENTRIES
from tests.rehearsal.conftest import Outcome

Rehearse = Callable[..., Outcome]
PLAN = Plan(show_seconds=3.0, after_reset_seconds=1.0)


@pytest.fixture(scope="module")
def small(rehearse_small: Rehearse) -> Part:
    """Return the small piece's part."""
    outcome = rehearse_small()
    return Part(outcome.show, outcome.built.image)


@pytest.fixture(scope="module")
def seen(rehearse_small: Rehearse) -> CircuitRehearsal:
    """Return some result."""
    return rehearse_small().seen


def test_the_second_time_the_same_is_there_at_once(small: Part, tmp_path: Path) -> None:
    first = rehearse([small], PLAN, earlier=Earlier(tmp_path))
    second = rehearse([small], PLAN, earlier=Earlier(tmp_path))
    assert (first.n_earlier, second.n_earlier) == (0, 1)
    assert second.findings == first.findings
    assert np.array_equal(second.circuits[0].thinned.show, first.circuits[0].thinned.show)
    assert second.wall_seconds < 0.5 * first.wall_seconds


def test_without_a_folder_everything_is_run(small: Part) -> None:
    assert rehearse([small], PLAN, earlier=Earlier(None)).n_earlier == 0


def test_another_binary_show_or_plan_is_another_rehearsal(small: Part, seen: CircuitRehearsal, tmp_path: Path) -> None:
    earlier = Earlier(tmp_path)
    earlier.keep(small, PLAN, seen)
    assert earlier.find(small, PLAN, CircuitRehearsal) is not None
    changed = bytes([small.image[0] ^ 1]) + small.image[1:]
    assert earlier.find(dataclasses.replace(small, image=changed), PLAN, CircuitRehearsal) is None
    other_show = dataclasses.replace(small.show, pass_frames=small.show.pass_frames + 1)
    assert earlier.find(dataclasses.replace(small, show=other_show), PLAN, CircuitRehearsal) is None
    assert earlier.find(small, dataclasses.replace(PLAN, show_seconds=4.0), CircuitRehearsal) is None
    assert earlier.find(small, FaultPlan(), FaultReport) is None
    assert earlier.find(small, PLAN, FaultReport) is None


def test_another_version_of_the_program_runs_it_again(
    small: Part, seen: CircuitRehearsal, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    earlier = Earlier(tmp_path)
    earlier.keep(small, PLAN, seen)
    monkeypatch.setattr("lampwright.rehearsal.earlier.program_fingerprint", lambda: b"another")
    assert earlier.find(small, PLAN, CircuitRehearsal) is None


@pytest.mark.parametrize("damage", ["cut", "turned", "empty", "gone"])
def test_a_damaged_result_is_as_none(small: Part, seen: CircuitRehearsal, tmp_path: Path, damage: str) -> None:
    earlier = Earlier(tmp_path)
    earlier.keep(small, PLAN, seen)
    (entry,) = tmp_path.iterdir()
    content = bytearray(entry.read_bytes())
    if damage == "gone":
        entry.unlink()
    elif damage == "turned":
        content[len(content) // 2] ^= 4
        entry.write_bytes(content)
    else:
        entry.write_bytes(content[: len(content) // 2] if damage == "cut" else b"")
    assert earlier.find(small, PLAN, CircuitRehearsal) is None


def test_the_folder_does_not_grow_for_ever(small: Part, tmp_path: Path) -> None:
    earlier = Earlier(tmp_path)
    for number in range(MOST_ENTRIES + 5):
        earlier.keep(small, Plan(show_seconds=number), "a result")
    assert len(list(tmp_path.iterdir())) == MOST_ENTRIES
    assert earlier.find(small, Plan(show_seconds=MOST_ENTRIES + 4), str) == "a result"


def test_a_folder_that_can_not_be_written_is_no_fault(small: Part, tmp_path: Path) -> None:
    earlier = Earlier(tmp_path / "not there")
    earlier.keep(small, PLAN, "a result")
    assert earlier.find(small, PLAN, str) is None
