"""Several packs on one lead, each behind a diode: who gives how much.

Pack ``k`` of open voltage ``E_k`` (its diode's forward voltage taken off) and resistance ``r_k`` gives
``max(0, (E_k - V) / r_k)`` at the lead's voltage ``V``: nothing flows back. Their sum falls as ``V`` rises and is the
largest of the sums over the 1, 2, ... packs of the highest ``E``; so, for a current ``I``::

    V = max over m of (sum over k <= m of E_k / r_k - I) / (sum over k <= m of 1 / r_k),   E_1 >= E_2 >= ...

Two packs alike are never set alike. With outputs 2 % off either way and the droop that USB 2.0 allows, one of them
gives the first 0.8 of its limit before the other gives anything at all.

Source
------
Millman's theorem for sources in parallel: any text on circuits. What diodes add: our own derivation, held against
ngspice in the tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lampwright.piece.model import Circuit
from lampwright.power.network import LEAST_RESISTANCE, Network, Source
from lampwright.power.solve import FrameRails, Rails
from lampwright.power.wiring import diode_of, source_droop

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Branch:
    """One pack and its diode, up to the lead."""

    open_voltage: float  # of the pack [V]
    forward: float  # of the diode [V]
    resistance: float  # of both [ohm]
    limit: float  # of the pack, for this circuit [A]

    @property
    def emf(self) -> float:
        """Voltage at the lead without load. [V]"""
        return self.open_voltage - self.forward

    @property
    def conductance(self) -> float:
        """Of pack and diode. [S]"""
        return 1.0 / max(self.resistance, LEAST_RESISTANCE)


def branches_of(circuit: Circuit, count: int | None = None) -> tuple[Branch, ...]:
    """Return ``count`` packs of a circuit, all unless said otherwise, as unlike as their tolerance lets them be.

    The first is set highest, the others lowest. A pack that feeds the circuit alone is taken as stated.
    """
    bank, diode = circuit.bank, diode_of(circuit)
    count = (bank.count if bank.is_shared else 1) if count is None else count
    off = circuit.source.output_tolerance.value if count > 1 else 0.0
    volts = circuit.source.output_voltage.value
    resistance = source_droop(circuit) + diode.resistance
    return tuple(
        Branch(volts * (1 + off if index == 0 else 1 - off), diode.forward, resistance, circuit.source_limit)
        for index in range(count)
    )


def shares(branches: Sequence[Branch], current: Floats) -> Floats:
    """Return what each branch gives of a current, (..., n_branch), for a current of shape (...). [A]"""
    if len(branches) == 1:  # no other to share with
        return np.maximum(0.0, np.asarray(current, dtype=np.float64))[..., None]
    order = np.argsort([-branch.emf for branch in branches], kind="stable")
    emf = np.array([branches[k].emf for k in order])
    conductance = np.array([branches[k].conductance for k in order])
    volts = (np.cumsum(emf * conductance) - np.asarray(current)[..., None]) / np.cumsum(conductance)
    given = np.maximum(0.0, (emf - volts.max(axis=-1)[..., None]) * conductance)
    found = np.empty_like(given)
    found[..., order] = given
    return np.asarray(found, dtype=np.float64)


def most_current(branches: Sequence[Branch]) -> float:
    """Return the current at which the first branch reaches its limit. [A]"""
    volts = max(branch.emf - branch.limit / branch.conductance for branch in branches)
    return sum(max(0.0, (branch.emf - volts) * branch.conductance) for branch in branches)


def one_pack_holds(circuit: Circuit) -> bool:
    """Return whether any one of a circuit's packs carries it by itself when the others are empty or fail.

    The limiter must hold the circuit to what one pack may give, and a pack that gives nothing beside another must not
    fall asleep: it either never does, or its other ports and its resistor draw enough.
    """
    bank = circuit.bank
    if not bank.is_shared:
        return False
    awake = bank.other_ports + circuit.pack.output_voltage.value / bank.keep_awake
    return awake >= circuit.pack.shutoff_current.value and circuit.current_cap <= circuit.source_limit


@dataclass(frozen=True)
class BankFrame:
    """One frame's rails with several packs."""

    rails: FrameRails
    given: tuple[float, ...]  # by each branch [A]
    supplied: float  # open voltage × current, of all packs [W]
    lost: float  # in the packs and their diodes [W]

    @property
    def spent(self) -> float:
        """Power in pixels, boards, leaks, wires, diodes and packs. [W]"""
        return self.rails.spent - self.rails.pack_heat + self.lost


def solve_bank(network: Network, branches: Sequence[Branch], codes: NDArray[np.uint8]) -> BankFrame:
    """Return the rails of one frame, (n_pixel, 3) red, green, blue as sent, fed by these branches at place 0.

    Packs are added from the highest on until the next would give nothing; each step is one source by Millman's
    theorem. Adding a pack never lowers the lead's voltage, so the first step that ends so is the only one.
    """
    ordered = sorted(branches, key=lambda branch: -branch.emf)
    for count in range(1, len(ordered) + 1):
        giving = ordered[:count]
        conductance = sum(branch.conductance for branch in giving)
        emf = sum(branch.emf * branch.conductance for branch in giving) / conductance
        limit = sum(branch.limit for branch in giving)
        frame = Rails(replace(network, source=Source(emf, 1.0 / conductance, limit))).frame(codes)
        if count == len(ordered) or frame.plus[0] >= ordered[count].emf:
            break
    volts = float(frame.plus[0])
    given = tuple(max(0.0, (branch.emf - volts) * branch.conductance) for branch in branches)
    supplied = sum(branch.open_voltage * amperes for branch, amperes in zip(branches, given, strict=True))
    lost = sum((branch.open_voltage - volts) * amperes for branch, amperes in zip(branches, given, strict=True))
    return BankFrame(frame, given, supplied, lost)
