"""Draws what the chips sent: time runs across, pixels down, in the colours an eye would see."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from lampwright.rehearsal.drawing import BACKGROUND, BAD, FAINT, GOOD, INK, Font, to_screen
from lampwright.rehearsal.faults import FaultReport
from lampwright.rehearsal.model import CircuitRehearsal
from lampwright.show import CircuitShow
from lampwright.written.picture import write_png

WIDTH = 1600
LEFT, RIGHT, TOP, GAP, BOTTOM = 104, 24, 104, 14, 66
STANDBY_WIDTH, BETWEEN = 300, 24
BAND_HEIGHT = 150


@dataclass(frozen=True)
class _Panel:
    """A stretch of time drawn side by side for all circuits."""

    left: int
    width: int
    seconds: float

    def across(self, moment: float) -> float:
        """Return where a moment lies, counted from the panel's start. [px]"""
        return self.left + self.width * moment / self.seconds


def draw_rehearsal(
    shows: Sequence[CircuitShow],
    circuits: Sequence[CircuitRehearsal],
    title: str,
    path: Path,
    faults: Sequence[FaultReport] = (),
) -> None:
    """Write the picture as PNG, atomically: the countdown on the left, enlarged; the show on the right.

    Ticks below a circuit's band mark the moments at which a fault was put into it; one that wasn't survived is red.
    """
    height = TOP + len(circuits) * (BAND_HEIGHT + GAP) - GAP + BOTTOM
    image = Image.new("RGB", (WIDTH, height), BACKGROUND)
    pen = ImageDraw.Draw(image)
    small, large = ImageFont.load_default(15), ImageFont.load_default(24)
    pen.text((LEFT, 14), title, INK, large)
    pen.text(
        (LEFT, 48),
        "What each chip sent, decoded from its data pins, brightened for the page. Time runs across, pixels down."
        + (" Ticks below: faults put in on purpose, red where not survived." if faults else ""),
        FAINT,
        small,
    )
    frame_seconds = shows[0].frame_ms / 1000
    standby_seconds = shows[0].standby_frames * frame_seconds
    show_left = LEFT + STANDBY_WIDTH + BETWEEN
    show_seconds = max(frame_seconds, max(c.n_frame for c in circuits) * frame_seconds - standby_seconds)
    standby = _Panel(LEFT, STANDBY_WIDTH, max(standby_seconds, frame_seconds))
    exposure = 255 / max(1, *(int(c.thinned.show.max(initial=1)) for c in circuits))
    show = _Panel(show_left, WIDTH - RIGHT - show_left, show_seconds)
    for index, seen in enumerate(circuits):
        top = TOP + index * (BAND_HEIGHT + GAP)
        image.paste(_band(seen.thinned.standby, exposure, (standby.width, BAND_HEIGHT)), (standby.left, top))
        image.paste(_band(seen.thinned.show, exposure, (show.width, BAND_HEIGHT)), (show.left, top))
        pen.text((16, top + 2), seen.name, INK, small)
        pen.text((16, top + 22), f"{seen.n_pixel} pixels", FAINT, small)
        _mark_runs(pen, shows[index], show, top)
        for report in faults:
            if report.name == seen.name:
                _mark_faults(pen, report, shows[index], (standby, show), top + BAND_HEIGHT)
    _mark_time(pen, shows[0], (standby, show), height, small)
    write_png(path, image)


def _mark_runs(pen: ImageDraw.ImageDraw, show: CircuitShow, panel: _Panel, top: int) -> None:
    """Draw a tick where each further run begins."""
    for run in show.layout.runs[1:]:
        y = top + round(run.first / show.n_pixel * BAND_HEIGHT)
        pen.line((panel.left - 9, y, panel.left - 2, y), FAINT)


def _mark_faults(
    pen: ImageDraw.ImageDraw, report: FaultReport, show: CircuitShow, panels: tuple[_Panel, _Panel], top: int
) -> None:
    """Draw a tick for each fault, those that were not survived last and longer."""
    standby_seconds = show.standby_frames * show.frame_ms / 1000
    clock = show.layout.circuit.board.clock.value
    for one in sorted(report.injected, key=lambda one: not one.is_as_wanted):
        moment = one.cycle / clock
        panel = panels[0] if moment < standby_seconds else panels[1]
        x = panel.across(min(panel.seconds, moment if moment < standby_seconds else moment - standby_seconds))
        pen.line((x, top + 2, x, top + (7 if one.is_as_wanted else 12)), GOOD if one.is_as_wanted else BAD)


def _band(codes: NDArray[np.uint8], exposure: float, size: tuple[int, int]) -> Image.Image:
    """Return codes (n_kept, n_pixel, 3) as a picture of ``size``, as many times brighter as ``exposure``.

    Where several frames or pixels share a cell the brightest is shown, so that flashes of the
    count indicator and single glints don't vanish.
    """
    if len(codes) == 0:
        return Image.new("RGB", size, (0, 0, 0))
    width, height = size
    columns = np.linspace(0, len(codes), width + 1).astype(int)
    light = np.stack([codes[a : max(a + 1, b)].max(axis=0) for a, b in pairwise(columns)])
    rows = np.linspace(0, codes.shape[1], height + 1).astype(int)
    light = np.stack([light[:, a : max(a + 1, b)].max(axis=1) for a, b in pairwise(rows)])
    return Image.fromarray(to_screen(light, exposure), "RGB")


def _mark_time(
    pen: ImageDraw.ImageDraw, show: CircuitShow, panels: tuple[_Panel, _Panel], height: int, font: Font
) -> None:
    """Mark minutes below both panels, and each cue above the show."""
    standby, playing = panels
    bottom = height - BOTTOM
    pen.text((standby.left, TOP - 26), "countdown: one pixel a minute left", INK, font)
    for panel in panels:
        step = 60 if panel.seconds <= 1800 else 600
        for moment in range(0, int(panel.seconds) + 1, step):
            x = panel.across(moment)
            pen.line((x, bottom, x, bottom + 5), FAINT)
            pen.text((x, bottom + 8), str(moment // 60), FAINT, font, anchor="ma")
    pen.text((standby.left, bottom + 34), "minutes since switched on", FAINT, font)
    pen.text((playing.left, bottom + 34), "minutes of the show", FAINT, font)
    taken = 0.0
    for cue in show.cues:
        x = playing.across(cue.start * show.frame_ms / 1000)
        if x < max(taken, playing.left) or x > playing.left + playing.width - 40:
            continue
        pen.line((x, TOP - 26, x, TOP - 4), FAINT)
        pen.text((x + 5, TOP - 26), cue.program.look.name, INK, font)
        taken = x + 12 + pen.textlength(cue.program.look.name, font)
