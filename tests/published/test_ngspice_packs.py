"""Whether packs that share a load through diodes do it as a circuit simulator has it.

Source: ngspice, the Debian package, run as in :mod:`tests.published.test_ngspice`: unequal sources in parallel, first
with rectifiers that are straight lines, then with the simulator's own diode, made nearly ideal.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from lampwright.power.bank import Branch, solve_bank
from lampwright.power.network import Network
from tests.power.rail_networks import random_codes, random_network
from tests.published.test_ngspice import netlist, operating_point

NEARLY_IDEAL = ".model nearly D(is=1e-6 n=0.01)"
"""Drops n V_T ln(I / Is): 3.6 mV at 1 A, and lets 1 µA back."""


def with_packs(text: str, packs: Sequence[str]) -> str:
    """Return a netlist with these lines in place of its one pack."""
    kept = [line for line in text.splitlines() if not line.startswith(("Vpack", "Rpack"))]
    return "\n".join([kept[0], *packs, *kept[1:]]) + "\n"


def packs_for(seed: int) -> tuple[Branch, ...]:
    """Return two or three packs up to 0.3 V apart, of unequal droop."""
    dice = np.random.default_rng(seed + 500)
    count = int(dice.integers(2, 4))
    return tuple(Branch(float(dice.uniform(4.9, 5.2)), 0.0, float(dice.uniform(0.02, 0.2)), 50.0) for _ in range(count))


def theirs(network: Network, codes: np.ndarray, lines: Sequence[str], folder: Path) -> dict[str, float]:
    return operating_point(with_packs(netlist(network, codes), lines), folder)


@pytest.mark.parametrize("seed", range(12))
def test_every_place_stands_within_a_tenth_of_a_millivolt(seed: int, tmp_path: Path) -> None:
    network, packs = random_network(seed, 30), packs_for(seed)
    codes = random_codes(seed, network)
    lines = [
        f"Bpack{k} 0 p0 I = (v(p0) < {pack.emf!r}) ? ({pack.emf!r} - v(p0))/{pack.resistance!r} : 0"
        for k, pack in enumerate(packs)
    ]
    volts = theirs(network, codes, lines, tmp_path)
    ours = solve_bank(network, packs, codes)
    wrong = [abs(ours.rails.plus[place] - volts[f"p{place}"]) for place in range(network.n_place)]
    assert max(wrong) < 1e-4
    for pack, amperes in zip(packs, ours.given, strict=True):
        assert amperes == pytest.approx(max(0.0, (pack.emf - volts["p0"]) / pack.resistance), abs=1e-3)


def test_the_packs_compared_share_and_stand_idle() -> None:
    idle = giving = 0
    for seed in range(12):
        network = random_network(seed, 30)
        given = solve_bank(network, packs_for(seed), random_codes(seed, network)).given
        idle += sum(amperes == 0 for amperes in given)
        giving += sum(amperes > 0 for amperes in given) > 1
    assert idle > 2
    assert giving > 2


@pytest.mark.parametrize("seed", range(4))
def test_the_simulators_own_diode_shares_alike(seed: int, tmp_path: Path) -> None:
    network, packs = random_network(seed, 30), packs_for(seed)
    codes = random_codes(seed, network)
    lines = [NEARLY_IDEAL]
    for k, pack in enumerate(packs):
        lines += [
            f"Vpack{k} e{k} 0 {pack.emf!r}",
            f"Rpack{k} e{k} d{k} {pack.resistance!r}",
            f"Dpack{k} d{k} p0 nearly",
        ]
    volts = theirs(network, codes, lines, tmp_path)
    ours = solve_bank(network, packs, codes)
    assert ours.rails.plus[0] == pytest.approx(volts["p0"], abs=0.005)
    for k, (pack, amperes) in enumerate(zip(packs, ours.given, strict=True)):
        assert amperes == pytest.approx(
            (volts[f"e{k}"] - volts[f"d{k}"]) / pack.resistance, abs=0.005 / pack.resistance
        )
