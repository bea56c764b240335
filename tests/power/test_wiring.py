"""Wiring: what stands in the piece file is what is solved."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from lampwright.layout.model import CircuitLayout
from lampwright.parts import Wire, find
from lampwright.piece.model import Cable, Feed, Joint, Origin, Run, Wiring
from lampwright.power import ready_rails
from lampwright.power.wiring import source_of, wire_up
from lampwright.show.model import CircuitShow
from lampwright.units import MakerError

BuildShow = Callable[..., CircuitShow]
LEAD = Cable(find(Wire, "awg-18"), 1.0)  # 20.95 mohm each way, ASTM B258


def rewired(layout: CircuitLayout, run: dict[str, Any], **wiring: Any) -> CircuitLayout:
    """Return the layout with other feeds, joints and leads."""
    old = layout.runs[0]
    new: Run = dataclasses.replace(old.run, **run)
    circuit = dataclasses.replace(layout.circuit, runs=(new,), wiring=Wiring(**wiring))
    return dataclasses.replace(layout, circuit=circuit, runs=(dataclasses.replace(old, run=new),))


def far_end(layout: CircuitLayout, code: int) -> float:
    frame = ready_rails(layout).frame(np.full((layout.n_pixel, 3), code, np.uint8))
    return float(frame.pixel_voltage[-1])


def test_lead_plug_and_droop_take_what_they_take_by_hand(show_of: BuildShow) -> None:
    # one pixel at 61 mA and the board at 30 mA; 10 mohm a plug's contact; droop 5 % of 5 V at 2 A: 125 mohm.
    # The feed begins at the pixel itself, so both currents go through lead and plug, and one through the feed.
    layout = rewired(show_of(1).layout, {"feeds": (Feed(1.0, LEAD),)}, lead=LEAD)
    assert source_of(layout.circuit).resistance == pytest.approx(0.125)
    by_hand = 5 - 0.125 * 0.091 - 2 * (0.01 + 0.02095) * 0.091 - 2 * 0.02095 * 0.061
    assert far_end(layout, 255) == pytest.approx(by_hand, abs=2e-6)


def test_warm_copper_loses_more_by_its_coefficient(show_of: BuildShow) -> None:
    run = {"feeds": (Feed(0.0, LEAD),)}
    lost = [
        5.0 - far_end(rewired(show_of(30).layout, run, lead=LEAD, plug=0.0, pack_droop=0.0, copper=kelvin), 20)
        for kelvin in (293.15, 343.15)
    ]
    assert lost[1] / lost[0] == pytest.approx(1 + 50 * 0.00393, rel=1e-3)


def test_a_second_feed_quarters_the_drop_of_the_strip(show_of: BuildShow) -> None:
    # evenly loaded: I R / 2 at one end, I R / 8 in the middle of two; feeds of next to no resistance
    short = Cable(find(Wire, "awg-10"), 0.0)
    drops = []
    for feeds in ((Feed(0.0, short),), (Feed(0.0, short), Feed(1.0, short))):
        layout = rewired(show_of(300).layout, {"feeds": feeds}, lead=short, plug=0.0, pack_droop=0.0)
        drops.append(5.0 - ready_rails(layout).solve(np.full((1, 300, 3), 5, np.uint8)).lowest[0])
    assert drops[0] / drops[1] == pytest.approx(4.0, rel=0.03)


def test_a_joint_costs_its_resistance_in_both_rails(show_of: BuildShow) -> None:
    plain = rewired(show_of(100).layout, {})
    joined = rewired(show_of(100).layout, {"joints": (Joint(0.5, 0.1),)})
    current = 50 * (0.001 + 0.060 * 10 / 255)  # the pixels behind it
    assert far_end(plain, 10) - far_end(joined, 10) == pytest.approx(2 * 0.1 * current, rel=1e-6)


def test_a_run_without_a_feed_is_an_error(show_of: BuildShow) -> None:
    with pytest.raises(MakerError) as caught:
        ready_rails(rewired(show_of(100).layout, {"feeds": ()}))
    assert {problem.code for problem in caught.value.problems} == {"POWER-017"}


def test_runs_that_only_feed_themselves_are_an_island(show_of: BuildShow) -> None:
    circle = Feed(0.0, LEAD, Origin("strip", 1.0))
    with pytest.raises(MakerError) as caught:
        ready_rails(rewired(show_of(100).layout, {"feeds": (circle,)}))
    assert {problem.code for problem in caught.value.problems} == {"POWER-017"}


def test_every_pixel_stands_at_a_place_of_its_own(show_of: BuildShow) -> None:
    network = wire_up(rewired(show_of(100).layout, {"feeds": (Feed(0.0, LEAD), Feed(0.5, LEAD), Feed(1.0, LEAD))}))
    assert len(set(network.pixels)) == 100
    assert [wire.name for wire in network.wires if not wire.is_strip] == [
        "lead",
        "feed of strip at 0 %",
        "feed of strip at 50 %",
        "feed of strip at 100 %",
    ]
