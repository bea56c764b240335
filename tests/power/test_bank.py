"""Packs that share a load: a maker who counts on twice the current of one pack stands in the dark."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.power.bank import Branch, most_current, shares, solve_bank
from lampwright.power.network import Source
from lampwright.power.solve import Rails
from tests.power.rail_networks import line_network, random_codes, random_network

SEEDS = st.integers(0, 10_000)


def random_branches(seed: int) -> tuple[Branch, ...]:
    """Return two to four packs that differ in voltage, droop and diode."""
    dice = np.random.default_rng(seed + 77)
    return tuple(
        Branch(float(dice.uniform(4.9, 5.2)), forward, float(dice.uniform(0.01, 0.2)), float(dice.uniform(1, 4)))
        for forward in dice.choice([0.0, 0.45], int(dice.integers(2, 5)))
    )


@settings(max_examples=60, deadline=None)
@given(SEEDS)
def test_the_power_of_several_packs_is_all_found_in_pixels_wires_and_diodes(seed: int) -> None:
    network = random_network(seed, 60)
    frame = solve_bank(network, random_branches(seed), random_codes(seed, network))
    assert frame.spent == pytest.approx(frame.supplied, rel=1e-9)
    assert sum(frame.given) == pytest.approx(frame.rails.pack_current, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(SEEDS)
def test_nothing_flows_back_and_who_gives_nothing_is_set_too_low(seed: int) -> None:
    network, branches = random_network(seed, 40), random_branches(seed)
    frame = solve_bank(network, branches, random_codes(seed, network))
    volts = frame.rails.plus[0]
    for branch, amperes in zip(branches, frame.given, strict=True):
        assert amperes >= 0
        if amperes > 0:
            assert volts == pytest.approx(branch.emf - branch.resistance * amperes, abs=1e-9)
        else:
            assert branch.emf <= volts + 1e-9


@settings(max_examples=100, deadline=None)
@given(SEEDS, st.floats(0.0, 12.0))
def test_shares_of_a_plain_current_add_up_at_one_voltage(seed: int, current: float) -> None:
    branches = random_branches(seed)
    given_ = shares(branches, np.array([current]))[0]
    assert given_.sum() == pytest.approx(current, abs=1e-9)
    at = [branch.emf - branch.resistance * amperes for branch, amperes in zip(branches, given_, strict=True)]
    giving = [volts for volts, amperes in zip(at, given_, strict=True) if amperes > 1e-12]
    assert giving == pytest.approx([giving[0]] * len(giving)) if giving else True
    idle = [branch.emf for branch, amperes in zip(branches, given_, strict=True) if amperes <= 1e-12]
    assert all(emf <= giving[0] + 1e-9 for emf in idle) if giving else True


@settings(max_examples=100, deadline=None)
@given(SEEDS)
def test_at_the_most_current_one_pack_is_at_its_limit_and_none_beyond(seed: int) -> None:
    branches = random_branches(seed)
    given_ = shares(branches, np.array(most_current(branches)))
    loads = [amperes / branch.limit for branch, amperes in zip(branches, given_, strict=True)]
    assert max(loads) == pytest.approx(1.0, rel=1e-9)


def test_two_packs_by_hand() -> None:
    # 5.1 V and 4.9 V behind 0.135 ohm each, at 3 A: (5.1 + 4.9 - 3 × 0.135) / 2 = 4.7975 V; 2.2407 and 0.7593 A.
    upper, lower = (Branch(volts, 0.0, 0.135, 2.0) for volts in (5.1, 4.9))
    assert shares((upper, lower), np.array(3.0)) == pytest.approx([2.2407, 0.7593], abs=1e-4)
    # below 0.2 V / 0.135 ohm = 1.4815 A the upper one is alone
    assert shares((lower, upper), np.array(1.48)) == pytest.approx([0.0, 1.48])
    assert most_current((upper, lower)) == pytest.approx(2.0 + 2.0 - 0.2 / 0.135)


def test_one_pack_behind_no_diode_is_the_circuit_as_it_was() -> None:
    network = line_network(50, 0.4 * 5 / 150, source=Source(5.0, 0.1, 3.0))
    codes = np.full((50, 3), 60, np.uint8)
    alone = Rails(network).frame(codes)
    frame = solve_bank(network, (Branch(5.0, 0.0, 0.1, 3.0),), codes)
    assert frame.rails.pixel_voltage == pytest.approx(alone.pixel_voltage, abs=1e-12)
    assert frame.given == pytest.approx((alone.pack_current,))


def test_a_second_pack_never_lowers_a_pixel() -> None:
    network = line_network(100, 0.4 * 5 / 150)
    codes = np.full((100, 3), 120, np.uint8)
    one = Branch(5.0, 0.0, 0.1, 3.0)
    alone = solve_bank(network, (one,), codes).rails.pixel_voltage
    both = solve_bank(network, (one, dataclasses.replace(one, open_voltage=4.8)), codes).rails.pixel_voltage
    assert np.all(both >= alone - 1e-9)
