"""The rail solver: what a maker reads of volts, amperes and heat is so for every pixel and wire."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.power.network import Network, RailWire, Source
from lampwright.power.solve import MOST_MISS, Rails
from tests.power.rail_networks import MODEL, line_network, random_codes, random_network

SEEDS = st.integers(0, 10_000)


@settings(max_examples=60, deadline=None)
@given(SEEDS)
def test_the_packs_power_is_all_found_in_pixels_and_wires(seed: int) -> None:
    network = random_network(seed, 60)
    frame = Rails(network).frame(random_codes(seed, network))
    assert frame.spent == pytest.approx(frame.supplied, rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(SEEDS)
def test_a_block_tells_the_same_as_each_frame_alone(seed: int) -> None:
    network = random_network(seed, 40)
    codes = np.stack([random_codes(seed + 7 * index, network) for index in range(19)])
    rails = Rails(network, watched=(0, len(network.pixels) - 1))
    block = rails.solve(codes)
    assert block.worst_miss < MOST_MISS
    for index, each in enumerate(codes):
        frame = rails.frame(each)
        assert block.lowest[index] == pytest.approx(frame.pixel_voltage.min(), abs=1e-9)
        assert frame.pixel_voltage[block.where[index]] == pytest.approx(block.lowest[index], abs=1e-9)
        assert block.volts[index] == pytest.approx(frame.pixel_voltage[[0, -1]], abs=1e-9)
        laid = [*frame.wire_current[list(rails.laid), 0], frame.pack_current]
        mirrored = rails.solve(codes[index : index + 1]).flows[0]
        assert mirrored == pytest.approx(laid, abs=1e-8)


@settings(max_examples=40, deadline=None)
@given(SEEDS, st.floats(1e-3, 1.0))
def test_other_cables_in_place_solve_as_if_made_anew(seed: int, ohms: float) -> None:
    network, codes = random_network(seed, 40), random_codes(seed, random_network(seed, 40))
    mirrored = dataclasses.replace(network, wires=tuple(dataclasses.replace(w, ground=w.plus) for w in network.wires))
    for each in (network, mirrored):
        rails = Rails(each)
        index = rails.laid[seed % len(rails.laid)]
        wires = list(each.wires)
        wires[index] = dataclasses.replace(wires[index], plus=ohms, ground=ohms)
        anew = Rails(dataclasses.replace(each, wires=tuple(wires))).frame(codes)
        changed = rails.with_cables({index: ohms}).frame(codes)
        np.testing.assert_allclose(changed.pixel_voltage, anew.pixel_voltage, atol=1e-9)
        np.testing.assert_allclose(changed.wire_current, anew.wire_current, atol=1e-6)


@settings(max_examples=40, deadline=None)
@given(SEEDS)
def test_one_rail_for_both_and_both_apart_agree(seed: int) -> None:
    network = random_network(seed, 40)
    # a stray ground wire of next to no conductance makes the ratio differ, and nothing else
    stray = RailWire("stray", 0, 1, math.inf, 1e12)
    mirrored = dataclasses.replace(network, wires=tuple(dataclasses.replace(w, ground=w.plus) for w in network.wires))
    mirrored = dataclasses.replace(mirrored, wires=tuple(w for w in mirrored.wires if math.isfinite(w.plus)))
    apart = dataclasses.replace(mirrored, wires=(*mirrored.wires, stray))
    codes = random_codes(seed, network)
    one, both = Rails(mirrored).frame(codes), Rails(apart).frame(codes)
    np.testing.assert_allclose(one.plus, both.plus, atol=1e-8)
    np.testing.assert_allclose(one.ground, both.ground, atol=1e-8)


def test_a_ground_of_its_own_shifts_the_data_line() -> None:
    thin_ground = RailWire("lead", 0, 1, 0.01, 0.30)
    network = Network(Source(5.0, 1e-5, 10.0), 2, (thin_ground,), (), MODEL, ((1, 1.0),))
    frame = Rails(network).frame(np.zeros((0, 3), np.uint8))
    assert frame.ground[1] == pytest.approx(0.30, abs=1e-9)
    assert frame.plus[1] == pytest.approx(4.99, abs=2e-5)


def test_an_overloaded_strip_sags_to_where_its_light_fades() -> None:
    # 150 white pixels of 60.7 mA on 0.4 ohm/m would lose 9.2 V if they kept regulating: they can't
    network = line_network(150, 0.4 * 5 / 150)
    frame = Rails(network).frame(np.full((150, 3), 255, np.uint8))
    assert MODEL.floor - 0.2 < frame.pixel_voltage[-1] < MODEL.knee[1]
    assert frame.pack_current < 150 * 0.0607 * 0.8
    assert np.all(np.diff(frame.pixel_voltage) < 0)
