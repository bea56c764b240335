"""What a fault is said to show, held against the firmware on its emulated chip and against how pixels pass data on."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from lampwright.faults.anatomy import take_apart
from lampwright.faults.cost import PASSING
from lampwright.faults.kinds import FaultKind, all_kinds
from lampwright.faults.showing import Damage, what_shows
from lampwright.firmware import build, write_firmware
from lampwright.layout import lay_out
from lampwright.piece import piece_from_text
from lampwright.rehearsal import FaultPlan, FaultReport, Part, inject_faults, kept_clock
from lampwright.rehearsal.faults import Fault
from lampwright.show import CircuitShow, compile_show, render
from tests.small_piece import small_piece

BROKEN = {
    Fault.HANG: FaultKind.BOARD_HUNG,
    Fault.BROWN_OUT: FaultKind.BOARD_RESET,
    Fault.ONE_SLOT: FaultKind.BOARD_RESET,
}
"""What the rehearsal does to a chip, and the kind of fault that stands for it here."""


@pytest.fixture(scope="module")
def show() -> CircuitShow:
    return compile_show(lay_out(piece_from_text(small_piece(), Path("small.toml"))))[0]


@pytest.fixture(scope="module")
def rehearsed(show: CircuitShow, tmp_path_factory: pytest.TempPathFactory) -> FaultReport:
    source = write_firmware(show, tmp_path_factory.mktemp("agreement") / "firmware")
    built = build(source)
    part = Part(show, built.image, source.pacing.startup, kept_clock(built.ram_map))
    return inject_faults(part, FaultPlan(count=96))


@pytest.mark.parametrize("fault", BROKEN)
def test_the_chip_is_silent_no_longer_than_is_said_and_goes_on(rehearsed: FaultReport, fault: Fault) -> None:
    facts = all_kinds()[BROKEN[fault]]
    injected = [one for one in rehearsed.injected if one.fault is fault]
    assert injected
    for one in injected:
        assert one.is_as_wanted
        assert one.silence is not None
        assert one.silence <= facts.lasts < PASSING


def test_a_hang_lasts_about_as_long_as_is_said(rehearsed: FaultReport) -> None:
    silences = [one.silence for one in rehearsed.injected if one.fault is Fault.HANG]
    longest = max(silence for silence in silences if silence is not None)
    assert longest > all_kinds()[FaultKind.BOARD_HUNG].lasts / 2


def pass_on(
    held: NDArray[np.uint8], frame: NDArray[np.uint8], cut: int | None, dead: frozenset[int]
) -> NDArray[np.uint8]:
    """Send a frame down a chain: each pixel takes the first code that reaches it and passes the rest on.

    Source: WS2812B data sheet, "data transmission method" and cascade drawing; a pixel keeps its colour until the
    next latch with data of its own.
    """
    held = held.copy()
    waiting = list(frame)
    for pixel in range(len(held)):
        if pixel == cut or pixel in dead:
            break
        held[pixel] = waiting.pop(0)
    held[list(dead)] = 0
    return held


@pytest.mark.parametrize(("cut", "dead"), [(None, ()), (0, ()), (12, ()), (None, (0,)), (None, (7,)), (20, (5,))])
def test_cut_data_and_dead_pixels_show_what_is_said(show: CircuitShow, cut: int | None, dead: tuple[int, ...]) -> None:
    codes = render(show, 60 * 40, 41).codes
    before, after = codes[0], codes[40]
    anatomy = take_apart(show.layout)
    damage = Damage(breaks=frozenset() if cut is None else frozenset({cut}), dead=frozenset(dead))
    said = what_shows(anatomy, damage)
    held = pass_on(before, before, None, frozenset())
    for frame in codes[1:]:
        held = pass_on(held, frame, cut, frozenset(dead))
    assert (held[said.dark] == 0).all()
    assert (held[said.frozen] == before[said.frozen]).all()
    assert (held[~said.lost] == after[~said.lost]).all()
    # the frames differ somewhere, so that frozen and right can be told apart
    assert (before != after).any(axis=1).mean() > 0.5
