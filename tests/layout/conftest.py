"""Small pieces to lay out, built without a file so that only the layout is under test."""

from __future__ import annotations

import dataclasses
import datetime
import math
from collections.abc import Callable
from pathlib import Path

import pytest

from lampwright.parts import Board, Figure, Pack, Status, Strip, find
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


def strip(density: float) -> Strip:
    """Return a strip of this density; nothing else of it matters to the layout."""
    stated = Figure(density, f"{density:g} /m", Status.COMPUTED, "made up for a test")
    return dataclasses.replace(find(Strip, "ws2812b-60"), density=stated)


def circuit(*sections: Section, density: float = 60.0, name: str = "arch 1") -> Circuit:
    """Return a circuit with one run of these sections."""
    pack, board = find(Pack, "pack-20ah-2a4"), find(Board, "m328p-16mhz-crystal")
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
