"""The mains outlets that a piece hangs on: which circuits on which, and how much power each is asked for.

Nothing on the mains side is designed here: what an outlet, its line and its protection can give is for those who are
licensed to say.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lampwright.parts import Supply
from lampwright.piece.model import Circuit


@dataclass(frozen=True)
class Outlet:
    """One mains outlet, and the circuits whose supplies hang on it."""

    name: str
    circuits: tuple[int, ...]
    """Their places in the piece."""
    power: float
    """What its supplies take of it with every circuit at its cap. [W]"""


def outlets_of(circuits: Sequence[Circuit]) -> tuple[Outlet, ...]:
    """Return the outlets of these circuits in the order of the file; none where packs feed all of them."""
    names = dict.fromkeys(each.outlet for each in circuits if each.is_on_mains)
    found = []
    for name in names:
        here = [k for k, each in enumerate(circuits) if each.is_on_mains and each.outlet == name]
        found.append(Outlet(name, tuple(here), sum(mains_power(circuits[k]) for k in here)))
    return tuple(found)


def mains_power(circuit: Circuit) -> float:
    """Return what a circuit's supply takes of the mains at the circuit's cap: volts × amperes / efficiency. [W]

    Source
    ------
    Conservation of energy.
    """
    source = circuit.source
    assert isinstance(source, Supply), "packs take nothing of the mains"
    return source.output_voltage.value * circuit.current_cap / source.efficiency.value
