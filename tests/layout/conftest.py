"""Small pieces to lay out, built without a file so that only the layout is under test."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from pathlib import Path

import pytest

from lampwright.parts.model import Board, Figure, LineTiming, Pack, Status, Strip, Window
from lampwright.piece.model import (
    Anchor,
    Brief,
    Circuit,
    Ending,
    FixedSection,
    Hoop,
    Member,
    Piece,
    Run,
    Section,
    ShowSheet,
    SourceMap,
    SpanSection,
    Standby,
    Straight,
    Survive,
)

BuildPiece = Callable[..., Piece]


def figure(value: float) -> Figure:
    """Return a figure that stands for whatever a catalogue would hold."""
    return Figure(value, f"{value:g}", Status.COMPUTED, "made up for a test")


def strip(density: float) -> Strip:
    """Return a strip of this density; nothing else of it matters to the layout."""
    window = Window(1e-7, 4e-7, 7e-7)
    timing = LineTiming(window, window, window, window, 300e-6)
    f = figure(1.0)
    return Strip("s", "s", "p", figure(density), "GRB", timing, "", *(17 * [f]))


def circuit(*sections: Section, density: float = 60.0, name: str = "arch 1") -> Circuit:
    """Return a circuit with one run of these sections."""
    f = figure(1.0)
    pack = Pack("p", "p", f, f, f, f, f, f, f, ((250.0, 0.5), (300.0, 1.0)), "", f)
    board = Board("b", "b", "atmega328p", f, f, f, f, f, f, f, f, f, ("PD6",))
    return Circuit(name, 0, pack, board, 1.6, (Run("hoop", "PD6", strip(density), sections),))


def piece(*circuits: Circuit) -> Piece:
    """Return a piece of these circuits."""
    date = datetime.date(2026, 12, 19)
    brief = Brief("test", "here", date, 600.0, 3600.0, 268.15, 7.0, Survive(1, 0.75))
    return Piece(
        Path("test.toml"),
        brief,
        (),
        circuits,
        Standby("#ffb060", 0.2, 0, 3),
        ShowSheet(0.025, 0.7, Ending.REPEAT, ()),
        SourceMap({}),
    )


@pytest.fixture
def piece_of() -> BuildPiece:
    """Build a piece with one circuit whose one run has these sections."""

    def build(*sections: Section, density: float = 60.0) -> Piece:
        return piece(circuit(*sections, density=density))

    return build


@pytest.fixture
def arch() -> Member:
    """The hoop of Frost Gate, at the origin."""
    return Member("arch 1", Hoop(2.4, 2.6), (0.0, 0.0, 0.0), 0.0)


@pytest.fixture
def next_arch() -> Member:
    """The hoop of Frost Gate 1.8 m further along the path."""
    return Member("arch 2", Hoop(2.4, 2.6), (0.0, 1.8, 0.0), 0.0)


@pytest.fixture
def arch_section(arch: Member) -> FixedSection:
    """Strip over the hoop, from 0.4 m above the ground to 0.4 m above the ground."""
    return FixedSection("arch 1", arch, 0.4, 0.4)


@pytest.fixture
def garland(arch: Member, next_arch: Member) -> SpanSection:
    """The garland from crown to crown."""
    return SpanSection("garland", Anchor(arch, "crown"), Anchor(next_arch, "crown"), 0.25)


@pytest.fixture
def leaning_post() -> Member:
    """A straight member of 2 m that leans 30 degrees, turned a quarter to the left."""
    return Member("post", Straight(2.0, math.radians(30)), (1.0, 2.0, 0.5), math.pi / 2)
