"""The worst moment of a circuit as a picture: what was sent, what comes out of it, and the volts along each run.

Readable in grey too: what is lost shows as darker, and the volts say where.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from lampwright.layout.model import CircuitLayout, RunLayout
from lampwright.look.colour import linear_to_screen
from lampwright.power.pixel_model import channel_shares
from lampwright.power.rail_draw import RailDraw, ready_rails
from lampwright.power.wiring import run_length
from lampwright.show.model import CircuitShow
from lampwright.show.render import render
from lampwright.units import format_quantity
from lampwright.written.picture import write_png

Floats = NDArray[np.float64]

WIDTH, LEFT, RIGHT, HEAD = 1000, 120, 30, 78
BAR, BETWEEN, CHART, PANEL = 30, 4, 120, 262
"""Heights: a bar of colours, what is left between two, the chart of volts, all that one run takes. [px]"""

PAPER, INK, FAINT, GRID, NIGHT = (252, 252, 250), (24, 28, 36), (96, 102, 114), (222, 224, 228), (8, 9, 12)
CURVE, LIMIT = (24, 28, 36), (196, 60, 40)


@dataclass(frozen=True, eq=False)
class WorstMoment:
    """A circuit at the frame of its lowest supply."""

    time: float  # since power-on [s]
    sent: Floats  # (n_pixel, 3) share of full light that the codes ask for [1]
    shown: Floats  # (n_pixel, 3) share that comes out [1]
    volts: Floats  # (n_pixel,) each pixel's own supply [V]

    @property
    def least_kept(self) -> float:
        """The smallest share of its light that any lit channel keeps. [1]"""
        lit = self.sent > 0
        return float((self.shown[lit] / self.sent[lit]).min(initial=1.0))


def worst_moment(show: CircuitShow, draw: RailDraw) -> WorstMoment:
    """Return what a circuit shows at its worst moment."""
    rails = ready_rails(show.layout)
    codes = render(show, draw.worst_frame, 1).codes[0]
    volts = rails.frame(codes).pixel_voltage
    sent = codes / 255.0
    kept = channel_shares(rails.network.model, volts)
    return WorstMoment(draw.worst_frame * show.frame_ms / 1000.0, sent, sent * kept, volts)


def draw_worst_moment(layout: CircuitLayout, moment: WorstMoment, path: Path) -> None:
    """Write the worst moment of a circuit as PNG, in one step.

    Raises
    ------
    OSError
        That names the picture.
    """
    image = Image.new("RGB", (WIDTH, HEAD + PANEL * len(layout.runs)), PAPER)
    pen = ImageDraw.Draw(image)
    when = format_quantity(float(int(moment.time)), "time")
    pen.text(
        (20, 14), f"{layout.circuit.name}: its lowest supply, {when} after power-on", INK, ImageFont.load_default(20)
    )
    kept = f"The weakest colour keeps {100 * moment.least_kept:.0f} % of its light"
    told = "Every colour keeps all of its light" if moment.least_kept > 0.995 else kept
    note = f"{told}. Brightened for the page: the brightest is shown full. Triangles: where power enters."
    pen.text((20, 44), note, FAINT, ImageFont.load_default(14))
    brightest = max(float(moment.sent.max()), 1e-9)
    floor, ceiling = _span_of_volts(layout, moment)
    for number, run in enumerate(layout.runs):
        _Panel(image, layout, run, HEAD + PANEL * number).draw(moment, brightest, floor, ceiling)
    write_png(path, image)


def _span_of_volts(layout: CircuitLayout, moment: WorstMoment) -> tuple[float, float]:
    """Return the chart's bottom and top, in half volts, the limit between them."""
    least = layout.circuit.strip.supply_least.value
    low = min(float(moment.volts.min()), least)
    high = max(float(moment.volts.max()), least)
    return np.floor(2 * low - 0.1) / 2, np.ceil(2 * high + 0.1) / 2


class _Panel:
    """The part of the picture that one run has."""

    def __init__(self, image: Image.Image, layout: CircuitLayout, run: RunLayout, top: int) -> None:
        self.image, self.layout, self.run, self.top = image, layout, run, top
        self.pen = ImageDraw.Draw(image)
        self.font = ImageFont.load_default(14)
        self.own = slice(run.first, run.first + run.n_pixel)
        self.along = layout.along[self.own]
        pitch = 1.0 / run.run.strip.density.value
        self.length = max(run_length(run), float(self.along[-1]) + pitch / 2 if run.n_pixel else pitch)

    def across(self, metres: float) -> float:
        """Return where a place along the run lies. [px]"""
        return LEFT + (WIDTH - LEFT - RIGHT) * metres / self.length

    def draw(self, moment: WorstMoment, brightest: float, floor: float, ceiling: float) -> None:
        """Draw the run's name, its two bars, the feeds and the volts."""
        self.pen.text((20, self.top), self.run.run.name, INK, ImageFont.load_default(16))
        bars = self.top + 24
        self._bar(bars, "sent", moment.sent[self.own] / brightest)
        self._bar(bars + BAR + BETWEEN, "comes out", moment.shown[self.own] / brightest)
        self._feeds(bars + 2 * BAR + BETWEEN)
        self._volts(bars + 2 * BAR + 26, moment.volts[self.own], floor, ceiling)

    def _bar(self, top: int, label: str, light: Floats) -> None:
        self.pen.text((20, top + BAR // 2 - 9), label, INK, self.font)
        self.pen.rectangle((LEFT, top, WIDTH - RIGHT, top + BAR), NIGHT)
        half = 0.5 / self.run.run.strip.density.value
        for metres, colour in zip(self.along, linear_to_screen(light), strict=True):
            box = (
                self.across(metres - half),
                top,
                max(self.across(metres + half), self.across(metres - half) + 1),
                top + BAR,
            )
            self.pen.rectangle(box, (int(colour[0]), int(colour[1]), int(colour[2])))

    def _feeds(self, top: int) -> None:
        for feed in self.run.run.feeds:
            x = self.across(feed.at * self.length)
            self.pen.polygon([(x, top + 4), (x - 6, top + 15), (x + 6, top + 15)], fill=INK)

    def _volts(self, top: int, volts: Floats, floor: float, ceiling: float) -> None:
        def height(value: float) -> float:
            return top + CHART * (ceiling - value) / (ceiling - floor)

        for level in np.arange(floor, ceiling + 0.01, 0.5):
            self.pen.line((LEFT, height(level), WIDTH - RIGHT, height(level)), GRID)
            self.pen.text((LEFT - 46, height(level) - 9), f"{level:.1f} V", FAINT, self.font)
        limit = self.layout.circuit.strip.supply_least.value
        for dash in range(LEFT, WIDTH - RIGHT, 10):
            self.pen.line((dash, height(limit), dash + 5, height(limit)), LIMIT, 2)
        self.pen.text((WIDTH - RIGHT - 172, height(limit) + 3), "colours hold above this", LIMIT, self.font)
        points = [(self.across(metres), height(value)) for metres, value in zip(self.along, volts, strict=True)]
        if len(points) > 1:
            self.pen.line(points, CURVE, 2)
        lowest = int(volts.argmin())
        x, y = points[lowest]
        self.pen.ellipse((x - 4, y - 4, x + 4, y + 4), outline=INK, width=2)
        told = f"{format_quantity(float(volts[lowest]), 'voltage')} at {self.along[lowest]:.2f} m"
        self.pen.text((min(max(x - 50, LEFT + 4), WIDTH - RIGHT - 130), max(y - 24, top)), told, INK, self.font)
        self._metres(top + CHART)

    def _metres(self, top: int) -> None:
        step = next(
            each for each in (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000) if self.length / each <= 12
        )
        for metres in np.arange(0.0, self.length + 1e-9, step):
            x = self.across(float(metres))
            self.pen.line((x, top, x, top + 4), FAINT)
            self.pen.text((x, top + 6), f"{metres:g} m", FAINT, self.font, anchor="ma")
