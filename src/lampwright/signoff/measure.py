"""Measure whole shows, stretches of them side by side on the machine's cores."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from itertools import accumulate

from lampwright.power import Draw, FrameCurrents, frame_currents, gather, n_frame_to_measure
from lampwright.show import CircuitShow, render
from lampwright.signoff.progress import Progress

BLOCK_FRAMES = 1000
STRETCH_FRAMES = 8000
"""Frames that one worker measures before it reports; well under a second of work."""

ALONE_BELOW = 1_000_000
"""Frames × pixels below which starting workers would take longer than the work."""


def measure_draws(shows: Sequence[CircuitShow], progress: Progress) -> tuple[Draw, ...]:
    """Return each circuit's draw over everything that its show ever does."""
    stretches = [
        (index, first, min(STRETCH_FRAMES, n_frame_to_measure(show) - first))
        for index, show in enumerate(shows)
        for first in range(0, n_frame_to_measure(show), STRETCH_FRAMES)
    ]
    progress.begin("draw of every frame", sum(count for _, _, count in stretches))
    parts: list[list[FrameCurrents]] = [[] for _ in shows]
    reached = accumulate(count for _, _, count in stretches)
    n_worker = min(os.cpu_count() or 1, len(stretches))
    work = sum(count * shows[index].n_pixel for index, _, count in stretches)
    if n_worker < 2 or work < ALONE_BELOW:
        for (index, first, count), done in zip(stretches, reached, strict=True):
            parts[index].append(measure_stretch(shows[index], first, count))
            progress.reach(done)
    else:
        # "spawn" on every system: the same behaviour everywhere, and no half-copied threads
        context = multiprocessing.get_context("spawn")
        with ProcessPoolExecutor(n_worker, context, ignore_interrupt) as pool:
            futures = [pool.submit(measure_stretch, shows[i], first, count) for i, first, count in stretches]
            _collect(pool, futures, [index for index, _, _ in stretches], parts, list(reached), progress)
    return tuple(gather(show, part) for show, part in zip(shows, parts, strict=True))


def _collect(
    pool: ProcessPoolExecutor,
    futures: Sequence[Future[FrameCurrents]],
    indices: Sequence[int],
    parts: Sequence[list[FrameCurrents]],
    reached: Sequence[int],
    progress: Progress,
) -> None:
    """Take the stretches in; when interrupted, drop those that haven't begun."""
    try:
        for future, index, done in zip(futures, indices, reached, strict=True):
            parts[index].append(future.result())
            progress.reach(done)
    except BaseException:
        pool.shutdown(wait=True, cancel_futures=True)
        raise


def measure_stretch(show: CircuitShow, first: int, count: int) -> FrameCurrents:
    """Return the currents of ``count`` frames from ``first`` on; memory stays bounded by the block."""
    parts = [
        frame_currents(show, render(show, start, min(BLOCK_FRAMES, first + count - start)))
        for start in range(first, first + count, BLOCK_FRAMES)
    ]
    draw = gather(show, parts)
    return FrameCurrents(draw.current, draw.wanted)


def ignore_interrupt() -> None:
    """Leave Ctrl-C to the parent, which stops its workers in order."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
