"""What a piece comes to by a sample of its frames: an answer at once, until every frame is weighed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lampwright.findings.model import Finding
from lampwright.power import Draw, RailDraw, Rails, frame_currents, gather, n_frame_to_measure, rail_part
from lampwright.power.draw import FrameCurrents
from lampwright.rigging import check_rigging
from lampwright.show import CircuitShow, sample
from lampwright.signoff.check import Ready, Report, Weighed, judge


def estimate(ready: Ready, standing: tuple[Finding, ...] | None) -> Report:
    """Return findings by a sample of the frames, which may miss a peak between its moments.

    Flashes aren't screened: what lies between the moments matters there. ``standing`` are the findings on faults and
    rigging, which need no frame and take long, where they are known from before; without them rigging is judged
    anew, and faults are left for later.
    """
    measured = [_measured(show, network) for show, network in zip(ready.shows, ready.networks, strict=True)]
    weighed = Weighed(tuple(draw for draw, _ in measured), tuple(rail for _, rail in measured), ())
    return judge(ready, weighed, check_rigging(ready.layout) if standing is None else standing)


def _measured(show: CircuitShow, network: Rails) -> tuple[Draw, RailDraw]:
    taken = sample(show, n_frame_to_measure(show))
    currents = frame_currents(show, taken.block)
    part = rail_part(network, taken.block.codes)
    by_frame = taken.stands_for
    draw = gather(show, [FrameCurrents(currents.current[by_frame], currents.wanted[by_frame])])
    rails = RailDraw(
        part.lowest[by_frame],
        part.where[by_frame],
        part.first_pixel[by_frame],
        tuple(network.network.wires[index].name for index in network.laid),
        part.wire_peak,
        np.array(
            [int(np.argmax(by_frame == index)) * draw.frame_period for index in np.abs(part.flows).argmax(axis=0)]
        ),
        _lasting(show, part.flows, by_frame),
        part.n_curved,
    )
    return draw, rails


def _lasting(show: CircuitShow, flows: NDArray[np.float32], by_frame: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return the root of the mean square of each wire's current over its hardest cue: no less than what lasts. [A]"""
    squares = np.square(flows, dtype=np.float64)
    means = []
    for cue in show.cues:
        frames = by_frame[show.standby_frames + cue.start : show.standby_frames + cue.start + cue.length]
        shares = np.bincount(frames, minlength=len(squares)) / len(frames)
        means.append(shares @ squares)
    hardest: NDArray[np.float64] = np.sqrt(np.max(means, axis=0))
    return hardest
