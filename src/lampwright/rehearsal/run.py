"""Rehearses every circuit, side by side on the machine's cores."""

from __future__ import annotations

import dataclasses
import os
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Future

from lampwright.chip import EmulatedChip
from lampwright.rehearsal.earlier import Earlier
from lampwright.rehearsal.findings import judge
from lampwright.rehearsal.model import CircuitRehearsal, Plan, Rehearsal
from lampwright.rehearsal.part import Part
from lampwright.rehearsal.stage import Stage, listening_lines, total_frames
from lampwright.rehearsal.wrong_clock import clock_errors, try_clocks
from lampwright.workers import Workers, report

ProgressReport = Callable[[int, int], None]
"""Called now and then with the frames compared so far and the frames in all."""


def rehearse(
    parts: Sequence[Part], plan: Plan, progress: ProgressReport | None = None, earlier: Earlier | None = None
) -> Rehearsal:
    """Run every circuit's binary on an emulated chip and hold what it sends against its show.

    Circuits run in processes of their own, as many at once as there are cores. An interrupt
    stops them all. No parts make an empty rehearsal. What ``earlier`` has isn't run again.
    """
    if not parts:
        return Rehearsal((), (), 0.0)
    begun = time.monotonic()
    results = earlier or Earlier(None)
    found = [results.find(part, plan, CircuitRehearsal) for part in parts]
    to_run = [part for part, one in zip(parts, found, strict=True) if one is None]
    fresh = iter(_run(to_run, plan, progress or (lambda _done, _all: None)))
    seen = tuple(next(fresh) if one is None else one for one in found)
    for part, before, now in zip(parts, found, seen, strict=True):
        if before is None:
            results.keep(part, plan, now)
    findings = [
        finding
        for part, circuit in zip(parts, seen, strict=True)
        for finding in judge(part.show, circuit, plan, part.show.layout.circuit.board.clock.value)
    ]
    return Rehearsal(seen, tuple(findings), time.monotonic() - begun, len(parts) - len(to_run))


def _run(parts: Sequence[Part], plan: Plan, progress: ProgressReport) -> tuple[CircuitRehearsal, ...]:
    if not parts:
        return ()
    total = sum(total_frames(part.show, plan) for part in parts)
    with Workers(min(len(parts), os.cpu_count() or 1)) as workers:
        futures = [workers.submit(rehearse_in_worker, part, plan) for part in parts]
        _follow(futures, workers, total, progress)
        return tuple(future.result() for future in futures)


def rehearse_circuit(part: Part, plan: Plan, progress: Callable[[int], None]) -> CircuitRehearsal:
    """Rehearse one circuit in this process."""
    board = part.show.layout.circuit.board
    lines = listening_lines(part.show)
    chip = EmulatedChip(part.image, board.clock.value, lines, board.chip, start_up=part.start_up)
    seen = Stage(part.show, chip, plan, progress).rehearse()
    if part.variables_end is not None:
        seen = dataclasses.replace(seen, untouched_ram=chip.untouched_ram(part.variables_end))
    if seen.stopped is not None:
        return seen
    return dataclasses.replace(seen, clock_trials=try_clocks(part, clock_errors(board.clock_tolerance.value)))


def rehearse_in_worker(part: Part, plan: Plan) -> CircuitRehearsal:
    """Rehearse one circuit in a worker process, which tells of its frames."""
    return rehearse_circuit(part, plan, report)


def _follow(futures: list[Future[CircuitRehearsal]], workers: Workers, total: int, progress: ProgressReport) -> None:
    done = 0
    while not all(future.done() for future in futures):
        if steps := workers.steps(patience=0.2):
            done += steps
            progress(done, total)
    progress(total, total)
