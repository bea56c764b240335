"""Measure whole shows, stretches of them side by side on the machine's cores.

Every frame is drawn once, for its draw and for its flashes. A stretch holds all circuits, because
what a viewer sees flashing is the piece.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lampwright.piece.model import ShowSheet
from lampwright.power import (
    Draw,
    FrameCurrents,
    RailDraw,
    RailPart,
    Rails,
    frame_currents,
    gather,
    gather_rails,
    join_rails,
    n_frame_to_measure,
    rail_part,
)
from lampwright.show import CircuitShow, Flashing, Screening, View, gather_flashing, render
from lampwright.signoff.progress import Progress
from lampwright.workers import Workers, is_worker

BLOCK_FRAMES = 1000
STRETCH_FRAMES = 4000
"""Frames of the piece that one worker measures before it reports; about a second of work."""

ALONE_BELOW = 1_000_000
"""Frames × pixels below which starting workers would take longer than the work."""


@dataclass(frozen=True)
class Measured:
    """Each circuit's draw and rails, and the flashes of all of them together."""

    draws: tuple[Draw, ...]
    rails: tuple[RailDraw, ...]
    flashing: Flashing


@dataclass(frozen=True)
class Stretch:
    """What was measured of a stretch: each circuit's currents and rails, and the worst seconds that end in it."""

    currents: tuple[FrameCurrents, ...]
    rails: tuple[RailPart, ...]
    flashing: Flashing


def measure_shows(
    shows: Sequence[CircuitShow], networks: Sequence[Rails], sheet: ShowSheet, view: View, progress: Progress
) -> Measured:
    """Return the draw, the rails and the flashes of everything that the circuits of a piece ever do."""
    n_frame = n_frame_to_measure(shows[0])
    assert all(n_frame_to_measure(show) == n_frame for show in shows), "one cue sheet plays on all circuits"
    starts = range(0, n_frame, STRETCH_FRAMES)
    jobs = [(shows, networks, sheet, view, start, min(STRETCH_FRAMES, n_frame - start)) for start in starts]
    progress.begin("draw, rails and flashes of every frame", n_frame)
    n_worker = min(os.cpu_count() or 1, len(jobs))
    if n_worker < 2 or is_worker() or n_frame * view.n_pixel < ALONE_BELOW:
        return _gather(shows, networks, _follow((measure_stretch(*job) for job in jobs), progress))
    with Workers(n_worker) as workers:
        futures = [workers.submit(measure_stretch, *job) for job in jobs]
        return _gather(shows, networks, _follow((future.result() for future in futures), progress))


def _follow(stretches: Iterable[Stretch], progress: Progress) -> list[Stretch]:
    """Take the stretches in, and tell how far it is."""
    taken = []
    done = 0
    for stretch in stretches:
        taken.append(stretch)
        done += len(stretch.currents[0].current)
        progress.reach(done)
    return taken


def _gather(shows: Sequence[CircuitShow], networks: Sequence[Rails], stretches: Sequence[Stretch]) -> Measured:
    draws = [gather(show, [each.currents[index] for each in stretches]) for index, show in enumerate(shows)]
    rails = [
        gather_rails(show, network, [part.rails[index] for part in stretches])
        for index, (show, network) in enumerate(zip(shows, networks, strict=True))
    ]
    return Measured(tuple(draws), tuple(rails), gather_flashing(each.flashing for each in stretches))


def measure_stretch(
    shows: Sequence[CircuitShow], networks: Sequence[Rails], sheet: ShowSheet, view: View, first: int, count: int
) -> Stretch:
    """Return currents, rails and flashes of ``count`` frames from ``first`` on; memory stays bounded by the stretch."""
    screening = Screening(shows, sheet, view, first)
    if screening.start < first:
        screening.follow([render(show, screening.start, first - screening.start).codes for show in shows])
    currents: list[list[FrameCurrents]] = [[] for _ in shows]
    rails: list[list[RailPart]] = [[] for _ in shows]
    for start in range(first, first + count, BLOCK_FRAMES):
        blocks = [render(show, start, min(BLOCK_FRAMES, first + count - start)) for show in shows]
        screening.follow([block.codes for block in blocks])
        for parts, show, block in zip(currents, shows, blocks, strict=True):
            parts.append(frame_currents(show, block))
        for kept, network, block in zip(rails, networks, blocks, strict=True):
            kept.append(rail_part(network, block.codes))
    draws = [gather(show, parts) for show, parts in zip(shows, currents, strict=True)]
    return Stretch(
        tuple(FrameCurrents(draw.current, draw.wanted) for draw in draws),
        tuple(join_rails(kept) for kept in rails),
        screening.result(),
    )
