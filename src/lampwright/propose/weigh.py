"""Weigh one option: a build with a board, a pack or supply, how many packs, and a brightness."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.layout import Layout
from lampwright.making.shopping import line_for
from lampwright.parts import NOUNS, Board, Pack, Strip, Supply
from lampwright.piece.circuits import DEFAULT_CAP
from lampwright.piece.model import Circuit, limit_of
from lampwright.power.drain import Load, drain, energy_left
from lampwright.power.keep_awake import SHUTOFF_CARE, resistor_for
from lampwright.power.line import write_time
from lampwright.power.pack import AGED_SHARE
from lampwright.propose.build import Build, bank_of
from lampwright.propose.design import Design, cap_of, period_for
from lampwright.propose.grouping import Grouping
from lampwright.propose.holding import RigOption
from lampwright.propose.rig import AS_STATED
from lampwright.propose.seen import as_seen
from lampwright.show.memory import ram_needed
from lampwright.units import format_quantity

HARD_LOGIC = 0.7
"""Share of its supply that a pixel's data input needs (WS2812B datasheet, VIH, in copies). [1]"""

MOST_OFF = 1e-3
"""Error of a board's clock that is accepted: circuits of one piece stay together, 3.6 s an hour at most (our choice).
[1]"""

SAMPLED = 0.95
"""Share of a run time reckoned from moments that is counted on (our choice); finalists are held frame by frame. [1]"""

STEP = 10.0
"""In which standby is reckoned for the drain of a pack (our choice). [s]"""


@dataclass(frozen=True)
class Figures:
    """What an option comes to."""

    cost: float  # in whole units of the currency
    mass: float  # of all that is carried, bases too where theirs is known [kg]
    work: float  # of hands before the show [s]
    set_up: float  # on site [s]
    run_time: float  # in the cold, standby not counted [s]
    worn_time: float  # the same with worn packs [s]
    odds: float  # that as much stays lit as the brief wants [1]
    kept: float  # share of circuits lit after the brief's faults, at worst [1]
    level: float  # share of full drive [1]
    light: float  # of a metre of strip, mean over the show [cd/m]
    pitch: float  # [m]
    packs: int  # of each circuit
    wind: float = math.inf  # mean of ten minutes that it holds in, once it has a rig [m/s]
    clean: float = 1.0
    """Whether no check of what holds it warns that another choice would silence."""


@dataclass(frozen=True, eq=False)
class Option:
    """A build, what is chosen with it, and what that comes to; before it is joined with a rig, that one is left out."""

    build: Build
    board: Board
    source: Pack | Supply
    packs: int
    level: int  # percent
    keep_awake: float  # [ohm]
    figures: Figures
    rig: RigOption | None = None

    @property
    def decisions(self) -> tuple[object, ...]:
        """What matters most: density, circuits, packs and members; not the brightness, nor parts that do the same."""
        made_of = "" if self.rig is None else self.rig.rig.title
        return (self.figures.pitch, self.build.grouping.title, self.source.name, self.packs, made_of)

    def design(self) -> Design:
        """Return it as a design, fed plainly."""
        period = period_for(self.build.n_pixel, self.board)
        assert period is not None, "a board that is too slow is no option"
        return Design(
            self.build.strip,
            self.build.grouping,
            self.board,
            self.source,
            self.packs,
            self.level,
            period,
            self.keep_awake,
            joints=self.build.joints,
            rig=AS_STATED if self.rig is None else self.rig.rig,
            gusts=f"gusts of {format_quantity(self.build.piece.brief.gust, 'speed', 3)}",
        )


def fits(build: Build, board: Board) -> bool:
    """Return whether a board holds and drives a build's circuits, as :func:`can_drive`."""
    return can_drive(board, build.layout, build.strip, build.grouping)


def can_drive(board: Board, layout: Layout, strip: Strip, grouping: Grouping) -> bool:
    """Return whether a board serves all circuits, whatever the pack: RAM, pins, time, level of data, clock."""
    n_run = max(len(entry.runs) for entry in grouping.entries)
    n_pixel = max(each.n_pixel for each in layout.circuits)
    period = period_for(n_pixel, board)
    timing = strip.timing
    return (
        ram_needed(n_pixel, board) <= board.ram.value
        and n_run <= len(board.pins)
        and period is not None
        and write_time(n_pixel, timing) + timing.latch <= 0.8 * period / 1000
        and board.supply.value * (1 - board.supply_tolerance.value) >= HARD_LOGIC * 5.0
        and board.clock_tolerance.value <= MOST_OFF
    )


def cost_of(build: Build, board: Board, source: Pack | Supply, packs: int) -> float:
    """Return what lights an option costs, feeds beyond the plainest left out, in whole units of the currency."""
    setting, count = build.setting, build.grouping.n_circuit
    lines = (
        line_for(board.name, "board", count, setting.shelf, setting.shop),
        line_for(source.name, NOUNS[type(source)], count * packs, setting.shelf, setting.shop),
    )
    return (build.price + sum(line.total or 0 for line in lines)) / 100


def joined(option: Option, rig: RigOption) -> Option:
    """Return an option on a rig: what both come to adds up, for neither knows of the other but by its strip's mass."""
    figures = dataclasses.replace(
        option.figures,
        cost=option.figures.cost + rig.cost / 100,
        mass=option.figures.mass + rig.mass,
        work=option.figures.work + rig.work,
        set_up=option.figures.set_up + rig.set_up / option.build.crew,
        wind=rig.wind,
        clean=float(rig.is_clean),
    )
    return dataclasses.replace(option, figures=figures, rig=rig)


def weigh(build: Build, board: Board, source: Pack | Supply, packs: int, level: int) -> Option | None:
    """Return an option and its figures, or ``None`` when pack or supply can't give the current.

    The board must fit, as :func:`fits`.
    """
    key = (board.name, source.name, packs, level)
    if key not in build.weighed:
        build.weighed[key] = _weigh(build, board, source, packs, level)
    found = build.weighed[key]
    return None if found is None else Option(build, board, source, packs, level, *found)


def _weigh(build: Build, board: Board, source: Pack | Supply, packs: int, level: int) -> tuple[float, Figures] | None:
    """Return the resistor that keeps a pack awake, and an option's figures. [ohm]"""
    template = build.layout.circuits[build.hardest]
    idle = board.current.value + template.n_pixel * build.strip.quiescent_current.value
    awake, bank = math.inf, bank_of(packs)
    if isinstance(source, Supply):
        cap = cap_of(source)
    else:
        awake = _kept_awake(build, board, source, packs)
        bank = bank_of(packs, awake)
        cap = DEFAULT_CAP * limit_of(source, bank)
        if source.output_voltage.value / awake >= source.current_limit.value / 2:
            return None
    light = build.light[build.hardest] * (level / 100)
    if idle + light.max() > cap:
        return None
    circuit = dataclasses.replace(template.circuit, source=source, board=board, bank=bank, current_cap=cap)
    strip, count = build.strip, build.grouping.n_circuit
    wish = build.setting.asked.wish
    seen = as_seen(strip, [share * level / 100 for share in build.shares], wish.seen_from, wish.surroundings)
    figures = Figures(
        cost_of(build, board, source, packs),
        build.mass + count * packs * source.mass.value,
        build.work,
        build.set_up,
        _run_time(build, circuit, idle, light),
        _run_time(build, circuit, idle, light, AGED_SHARE),
        build.odds(packs),
        build.kept,
        level / 100,
        seen.per_metre,
        1 / strip.density.value,
        packs,
    )
    return awake, figures


def _kept_awake(build: Build, board: Board, pack: Pack, packs: int) -> float:
    """Return the resistor that keeps a pack awake; infinite where none is needed. [ohm]"""
    # circuits of one entry have like resistors, so that the one that draws least has to be kept awake too
    least = board.current.value + min(c.n_pixel for c in build.layout.circuits) * build.strip.quiescent_current.value
    missing = SHUTOFF_CARE * pack.shutoff_current.value - (least if packs == 1 else 0.0)
    return resistor_for(missing, pack.output_voltage.value).resistance if missing > 0 else math.inf


def _run_time(build: Build, circuit: Circuit, idle: float, light: NDArray[np.float64], worn: float = 1.0) -> float:
    """Return how long it shines; without end where a supply feeds it. [s]"""
    if circuit.is_on_mains:
        return math.inf
    brief = build.piece.brief
    standby = np.full(max(1, round(brief.standby / STEP)), idle + light.min())
    load = Load(STEP, standby, idle + light)
    lasts = drain(load, circuit, energy_left(circuit, brief.coldest, worn)).lasts
    return SAMPLED * max(0.0, lasts - brief.standby)
