"""Rehearses every circuit, side by side on the machine's cores."""

from __future__ import annotations

import multiprocessing
import os
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass
from queue import Empty, Queue

from lampwright.chip import EmulatedChip
from lampwright.rehearsal.findings import judge
from lampwright.rehearsal.model import CircuitRehearsal, Plan, Rehearsal
from lampwright.rehearsal.stage import Stage, listening_lines, total_frames
from lampwright.show import CircuitShow

ProgressReport = Callable[[int, int], None]
"""Called now and then with the frames compared so far and the frames in all."""


@dataclass(frozen=True)
class Part:
    """A circuit's show and the flash image built for it."""

    show: CircuitShow
    image: bytes
    start_up: float = 0.0
    """From a reset to the first instruction, as the fuses set it. [s]"""


def rehearse(parts: Sequence[Part], plan: Plan, progress: ProgressReport | None = None) -> Rehearsal:
    """Run every circuit's binary on an emulated chip and hold what it sends against its show.

    Circuits run in processes of their own, as many at once as there are cores. An interrupt
    stops them all.
    """
    begun = time.monotonic()
    report = progress or (lambda _done, _all: None)
    total = sum(total_frames(part.show, plan) for part in parts)
    context = multiprocessing.get_context("spawn")
    workers = min(len(parts), os.cpu_count() or 1)
    with context.Manager() as manager:
        queue: Queue[int] = manager.Queue()
        pool = ProcessPoolExecutor(workers, context)
        try:
            futures = [pool.submit(rehearse_in_worker, part, plan, queue) for part in parts]
            _follow(futures, queue, total, report)
            seen = tuple(future.result() for future in futures)
        except BaseException:
            _stop(pool)
            raise
        finally:
            pool.shutdown(wait=True, cancel_futures=True)
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


def rehearse_in_worker(part: Part, plan: Plan, queue: Queue[int]) -> CircuitRehearsal:
    """Rehearse one circuit in a worker process, with progress through ``queue``."""
    return rehearse_circuit(part, plan, queue.put)


def _stop(pool: ProcessPoolExecutor) -> None:
    """End the workers at once: a chip in mid-run would otherwise keep the maker waiting."""
    for process in multiprocessing.active_children():
        if process in (pool._processes or {}).values():
            process.terminate()


def _follow(futures: list[Future[CircuitRehearsal]], queue: Queue[int], total: int, report: ProgressReport) -> None:
    done = 0
    while not all(future.done() for future in futures):
        try:
            done += queue.get(timeout=0.2)
        except Empty:
            continue
        report(done, total)
    report(total, total)
