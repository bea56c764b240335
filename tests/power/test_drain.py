"""A run time told too long is a show that ends in the dark before its guests have gone."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.parts import Diode, Pack, find
from lampwright.piece.model import Bank, Circuit, Ending, Joined
from lampwright.power.bank import branches_of, shares
from lampwright.power.drain import Evening, Load, Spending, drain, extra_load, load_of
from lampwright.power.draw import Draw
from lampwright.power.pack import cell_energy, cell_power, efficiency_at
from lampwright.show.model import CircuitShow
from tests.power.conftest import ONE_PACK, layout_of

BuildShow = Callable[..., CircuitShow]

POWERS = st.lists(st.floats(0.01, 20.0), min_size=1, max_size=20)


def draw_of(ending: Ending) -> Draw:
    """Return two seconds of standby and two of show: 0.1, 0.1, 0.2, 0.6 A; 0.04 A when dark."""
    current = np.array([0.1, 0.1, 0.2, 0.6])
    return Draw(1.0, 2, 2, ending, 0.04, current, current)


def steady(current: float) -> Load:
    """Return one current without end."""
    return Load(1.0, np.full(10, current), np.array([current]))


@pytest.mark.parametrize(
    ("ending", "again"), [(Ending.REPEAT, [0.2, 0.6]), (Ending.HOLD, [0.6]), (Ending.DARK, [0.04])]
)
def test_what_comes_after_the_first_pass_counts_as_it_shines(ending: Ending, again: list[float]) -> None:
    load = load_of(draw_of(ending))
    assert load.again == pytest.approx(again)
    spending = Spending(1.0, load.once, load.again)
    assert spending.by(2.0) == pytest.approx(0.2)
    assert spending.by(10.0) == pytest.approx(1.0 + 6.0 * np.mean(again))


@given(POWERS, POWERS, st.floats(0.0, 500.0))
def test_the_time_of_an_energy_is_when_it_is_spent(once: list[float], again: list[float], time: float) -> None:
    spending = Spending(0.025, np.array(once), np.array(again))
    assert spending.time_of(spending.by(time)) == pytest.approx(time, abs=1e-6)


@given(POWERS, POWERS, st.floats(0.0, 3.0))
def test_a_show_of_many_frames_spends_what_its_frames_spend_one_by_one(
    once: list[float], again: list[float], time: float
) -> None:
    frames = once + again * 200
    whole = int(time / 0.025)
    by_hand = 0.025 * (sum(frames[:whole]) + (time / 0.025 - whole) * frames[whole])
    assert Spending(0.025, np.array(once), np.array(again)).by(time) == pytest.approx(by_hand, rel=1e-9, abs=1e-12)


def test_a_steady_load_lasts_what_the_division_says(show_of: BuildShow) -> None:
    circuit = show_of(pack={"efficiency": "80 %"}).layout.circuit  # 10 Ah of 3.7 V, 2 A
    # at 1 A the converter is at its best: 37 Wh × 80 % / 5 W
    lasts = drain(steady(1.0), circuit, cell_energy(circuit.pack))
    assert lasts.lasts / 3600 == pytest.approx(37 * 0.8 / 5)
    assert lasts.efficiency == pytest.approx(0.8)


def test_a_load_that_hardly_draws_wastes_more_than_it_takes() -> None:
    pack = find(Pack, "pack-10ah-2a")
    assert efficiency_at(pack, np.array([0.02, 0.2, 1.0, 2.0])) == pytest.approx([0.48, 0.776, 0.8, 0.768])
    assert cell_power(pack, np.array(1.0)) == pytest.approx(6.25)


@given(st.integers(1, 4), st.sampled_from(list(Joined)), st.floats(0.2, 1.9), st.floats(0.0, 0.05))
def test_no_energy_is_lost_or_won_between_packs(count: int, joined: Joined, current: float, off: float) -> None:
    """What the cells gave is what the load took by the converters' efficiency, whoever gave it."""
    circuit = _circuit(count, joined, off)
    # a converter whose efficiency doesn't depend on its load: then it doesn't matter who carries it
    flat = dataclasses.replace(circuit.pack, load_efficiency=((0.0, 1.0), (1.0, 1.0)))
    circuit = dataclasses.replace(circuit, source=flat)
    energy = 1000.0
    emptying = drain(steady(current), circuit, energy)
    assert len(emptying.emptied) == count
    assert emptying.lasts * current * 5.0 / 0.8 == pytest.approx(count * energy, rel=1e-9)


def step_by_step(load: Load, circuit: Circuit, energy: float) -> tuple[float, list[float], bool]:
    """Empty packs in small steps, without any sum: when it ends, when each is empty, whether overdrawn."""
    left, emptied, step = [energy] * circuit.bank.count, list[float](), load.period / 100
    ticks = 0
    while True:
        frame = ticks // 100
        current = load.once[frame] if frame < len(load.once) else load.again[(frame - len(load.once)) % len(load.again)]
        count = len(left) if circuit.bank.is_shared else 1
        given = shares(branches_of(circuit, count), np.array(current))
        if emptied and circuit.bank.is_shared and given.max() > circuit.source_limit:
            return ticks * step, emptied, True
        for k in range(count):
            left[k] -= step * float(cell_power(circuit.pack, given[k] + extra_load(circuit)))
        ticks += 1
        for k in reversed(range(len(left))):
            if left[k] <= 0:
                del left[k]
                emptied.append(ticks * step)
        if not left:
            return ticks * step, emptied, False


@pytest.mark.parametrize("seed", range(24))
def test_sums_tell_the_same_as_going_through_the_evening_step_by_step(seed: int) -> None:
    dice = np.random.default_rng(seed)
    joined = list(Joined)[seed % 3]
    circuit = _circuit(int(dice.integers(1, 4)), joined, float(dice.uniform(0, 0.03)))
    bank = dataclasses.replace(circuit.bank, keep_awake=float(dice.choice([100.0, np.inf])))
    circuit = dataclasses.replace(circuit, bank=bank)
    heavy = 2.4 if seed % 4 == 0 else 1.8
    once, again = (dice.uniform(0.05, heavy, int(dice.integers(1, 6))) for _ in range(2))
    load, energy = Load(1.0, once, again), float(dice.uniform(5, 60))
    found = drain(load, circuit, energy)
    ends, emptied, is_overdrawn = step_by_step(load, circuit, energy)
    assert found.is_overdrawn == is_overdrawn
    # a step too early or late is long where little is drawn: at 0.06 A what 1.8 A take in 0.01 s lasts 0.3 s
    assert found.lasts == pytest.approx(ends, abs=0.3)
    assert found.emptied == pytest.approx(emptied, abs=0.3)


def _circuit(count: int, joined: Joined, off: float) -> Circuit:
    circuit = layout_of(10, {}, {}, {}, None, ONE_PACK).circuit
    pack = find(Pack, "pack-10ah-2a")
    pack = dataclasses.replace(pack, output_tolerance=dataclasses.replace(pack.output_tolerance, value=off))
    diode = None if joined is Joined.IN_TURN else find(Diode, "diode-ideal-5a")
    return dataclasses.replace(circuit, source=pack, bank=Bank(count, joined, diode))


def test_the_last_pack_that_may_not_carry_the_load_ends_the_show(show_of: BuildShow) -> None:
    bank = Bank(2, Joined.IDEAL_DIODE, find(Diode, "diode-ideal-5a"))
    circuit = show_of(bank=bank).layout.circuit
    calm, heavy = np.full(7200, 0.5), np.full(7200, 2.4)
    load = Load(1.0, np.concatenate([calm, heavy]), np.concatenate([calm, heavy]))
    emptying = drain(load, circuit, cell_energy(circuit.pack) / 2)
    assert emptying.is_overdrawn
    assert len(emptying.emptied) == 1
    # it ends at the very moment in which the heavy load meets one pack alone
    within = emptying.lasts % 14400
    assert within >= 7200


def test_packs_are_asked_no_longer_than_until(show_of: BuildShow) -> None:
    circuit = show_of().layout.circuit
    energy = cell_energy(circuit.pack)
    hour = Evening(steady(1.0), circuit).drain(energy, 3600.0)
    assert (hour.lasts, hour.emptied, hour.is_overdrawn) == (3600.0, (), False)
    assert energy - hour.left[0] == pytest.approx(6.25 * 3600)
