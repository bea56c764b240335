"""How long packs last: what their cells spend, frame by frame, through standby, the show and its repeats."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.piece.model import Circuit, Ending
from lampwright.power.bank import Branch, branches_of, shares
from lampwright.power.draw import Draw
from lampwright.power.pack import age_share, cell_energy, cell_power, cold_share

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Load:
    """What a circuit asks of its packs over an evening."""

    period: float  # of a frame [s]
    once: Floats  # (n,) standby and first pass [A]
    again: Floats  # (m,) what comes after, over and over [A]


def load_of(draw: Draw) -> Load:
    """Return a draw as a load without end: the pass repeated, its last frame held, or all dark."""
    end = draw.standby_frames + draw.pass_frames
    again = {
        Ending.REPEAT: draw.current[draw.standby_frames : end],
        Ending.HOLD: draw.current[end - 1 : end],
        Ending.DARK: np.array([draw.idle]),
    }[draw.ending]
    return Load(draw.frame_period, draw.current[:end], again)


class Spending:
    """A power [W] over time, its frames as in :class:`Load`, added up."""

    def __init__(self, period: float, once: Floats, again: Floats) -> None:
        self._period = period
        self._once = np.concatenate([[0.0], np.cumsum(once)]) * period
        self._again = np.concatenate([[0.0], np.cumsum(again)]) * period

    def by(self, time: float) -> float:
        """Return the energy spent by a time since power-on [s]. [J]"""
        frames = time / self._period
        n_once, n_again = len(self._once) - 1, len(self._again) - 1
        if frames <= n_once:
            return _between(self._once, frames)
        rounds, rest = divmod(frames - n_once, n_again)
        return float(self._once[-1] + rounds * self._again[-1] + _between(self._again, rest))

    def time_of(self, energy: float) -> float:
        """Return when this much energy [J] is spent. [s]"""
        if energy <= self._once[-1]:
            return _reached(self._once, energy) * self._period
        if self._again[-1] <= 0:
            return math.inf
        rounds, rest = divmod(energy - float(self._once[-1]), float(self._again[-1]))
        frames = len(self._once) - 1 + rounds * (len(self._again) - 1) + _reached(self._again, rest)
        return float(frames) * self._period


def _between(total: Floats, frames: float) -> float:
    whole = min(int(frames), len(total) - 2)
    return float(total[whole] + (frames - whole) * (total[whole + 1] - total[whole]))


def _reached(total: Floats, amount: float) -> float:
    whole = min(max(int(np.searchsorted(total, amount, side="right")) - 1, 0), len(total) - 2)
    step = float(total[whole + 1] - total[whole])
    return whole + (amount - float(total[whole])) / step if step > 0 else float(whole)


@dataclass(frozen=True)
class Drain:
    """How a bank of packs gets empty."""

    lasts: float
    """Since power-on, until nothing is left or what is left can't carry the load. [s]"""
    emptied: tuple[float, ...]
    """When each pack is empty, in that order. [s]"""
    is_overdrawn: bool
    """Whether it ended because the packs left were asked for more than they may give."""
    efficiency: float
    """Of the converters, until the first pack is empty. [1]"""
    left: tuple[float, ...]
    """What is left in the cells of the packs that aren't empty. [J]"""


def energy_left(circuit: Circuit, coldest: float, worn: float = 1.0) -> float:
    """Return what the cells of one pack give in the cold and at their age, times a further share. [J]"""
    pack = circuit.pack
    aged = 1.0 if circuit.bank.cycles is None else age_share(pack, circuit.bank.cycles)
    return cell_energy(pack) * cold_share(pack, coldest) * aged * worn


def extra_load(circuit: Circuit) -> float:
    """Return what each pack in use gives besides its circuit: other ports, and the resistor that keeps it awake. [A]"""
    return circuit.bank.other_ports + circuit.pack.output_voltage.value / circuit.bank.keep_awake


class Evening:
    """A load and the packs that carry it: what they spend is added up once, however full they are asked to be."""

    def __init__(self, load: Load, circuit: Circuit) -> None:
        self._load, self._circuit = load, circuit
        self._sums: dict[int, _Sums] = {}

    def drain(self, energy: float, until: float = math.inf, count: int | None = None) -> Drain:
        """Return how ``count`` packs get empty, each with this much energy [J] in its cells, ``until`` then [s].

        All of the circuit's packs, unless said otherwise. Packs in turn carry the whole load one after the other. Packs
        that share it do so at their worst tolerance: the one that is set highest is empty first, then the others carry
        on without it, as long as they may.
        """
        is_shared = self._circuit.bank.is_shared
        left = [energy] * (self._circuit.bank.count if count is None else count)
        now, emptied, efficiency = 0.0, list[float](), 1.0
        while left:
            sums = self._summed(len(left) if is_shared else 1)
            stop = _overdrawn(self._load, sums.branches, now) if emptied and is_shared else math.inf
            ends = [each.time_of(each.by(now) + left[k]) for k, each in enumerate(sums.spending)]
            first = int(np.argmin(ends))
            if not emptied:
                spent = sum(each.by(ends[first]) for each in sums.spending)
                given = self._circuit.pack.output_voltage.value * sums.given.by(ends[first])
                efficiency = given / spent if spent else 1.0
            end = min(ends[first], stop, until)
            for k, each in enumerate(sums.spending):
                left[k] -= each.by(end) - each.by(now)
            if end < ends[first]:
                return Drain(end, tuple(emptied), stop < until, efficiency, tuple(left))
            del left[first]
            now = end
            emptied.append(now)
        return Drain(now, tuple(emptied), False, efficiency, ())

    def _summed(self, count: int) -> _Sums:
        """Return what is spent while so many packs carry the load together."""
        if count not in self._sums:
            self._sums[count] = _sums_of(self._load, self._circuit, branches_of(self._circuit, count))
        return self._sums[count]


@dataclass(frozen=True)
class _Sums:
    """What packs that carry a load together spend over time."""

    branches: tuple[Branch, ...]
    spending: tuple[Spending, ...]  # of each pack's cells [W]
    given: Spending  # at the outputs of all, as a current [A]


def _sums_of(load: Load, circuit: Circuit, branches: tuple[Branch, ...]) -> _Sums:
    once, again = (shares(branches, current) + extra_load(circuit) for current in (load.once, load.again))
    spending = tuple(
        Spending(load.period, cell_power(circuit.pack, once[:, k]), cell_power(circuit.pack, again[:, k]))
        for k in range(len(branches))
    )
    return _Sums(branches, spending, Spending(load.period, once.sum(axis=1), again.sum(axis=1)))


def drain(load: Load, circuit: Circuit, energy: float) -> Drain:
    """Return how a circuit's packs get empty, each of them with this much energy [J] in its cells."""
    return Evening(load, circuit).drain(energy)


def _overdrawn(load: Load, branches: tuple[Branch, ...], now: float) -> float:
    """Return when one of these branches is first asked for more than its limit, from ``now`` on; or ``inf``. [s]"""
    limits = np.array([branch.limit for branch in branches])
    once = np.flatnonzero((shares(branches, load.once) > limits).any(axis=1))
    again = np.flatnonzero((shares(branches, load.again) > limits).any(axis=1))
    first, n_once = int(now / load.period), len(load.once)
    later = once[once >= first]
    if len(later):
        return max(now, float(later[0]) * load.period)
    if not len(again):
        return math.inf
    rounds, rest = divmod(max(first - n_once, 0), len(load.again))
    following = again[again >= rest]
    frame = rounds * len(load.again) + (following[0] if len(following) else len(load.again) + again[0])
    return max(now, float(n_once + frame) * load.period)
