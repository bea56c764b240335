"""Rehearses every circuit, side by side on the machine's cores."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass

from lampwright.chip import EmulatedChip
from lampwright.rehearsal.findings import judge
from lampwright.rehearsal.model import CircuitRehearsal, Plan, Rehearsal
from lampwright.rehearsal.stage import Stage, listening_lines, total_frames
from lampwright.show import CircuitShow
from lampwright.workers import Workers, report

ProgressReport = Callable[[int, int], None]
"""Called now and then with the frames compared so far and the frames in all."""


@dataclass(frozen=True)
class Part:
    """A circuit's show and the flash image built for it."""

    show: CircuitShow
    image: bytes
    start_up: float = 0.0
    """From a reset to the first instruction, as the fuses set it. [s]"""
    kept_clock: range | None = None
    """RAM addresses of the clock that is kept through resets, two slots of one size; only faults need it."""


def rehearse(parts: Sequence[Part], plan: Plan, progress: ProgressReport | None = None) -> Rehearsal:
    """Run every circuit's binary on an emulated chip and hold what it sends against its show.

    Circuits run in processes of their own, as many at once as there are cores. An interrupt
    stops them all. No parts make an empty rehearsal.
    """
    if not parts:
        return Rehearsal((), (), 0.0)
    begun = time.monotonic()
    total = sum(total_frames(part.show, plan) for part in parts)
    with Workers(min(len(parts), os.cpu_count() or 1)) as workers:
        futures = [workers.submit(rehearse_in_worker, part, plan) for part in parts]
        _follow(futures, workers, total, progress or (lambda _done, _all: None))
        seen = tuple(future.result() for future in futures)
    findings = [
        finding
        for part, circuit in zip(parts, seen, strict=True)
        for finding in judge(part.show, circuit, plan, part.show.layout.circuit.board.clock.value)
    ]
    return Rehearsal(seen, tuple(findings), time.monotonic() - begun)


def rehearse_circuit(part: Part, plan: Plan, progress: Callable[[int], None]) -> CircuitRehearsal:
    """Rehearse one circuit in this process."""
    board = part.show.layout.circuit.board
    lines = listening_lines(part.show)
    chip = EmulatedChip(part.image, board.clock.value, lines, board.chip, start_up=part.start_up)
    return Stage(part.show, chip, plan, progress).rehearse()


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
