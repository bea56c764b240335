"""Standard fuses: which one a load takes, and what a wire may carry behind one that protects it."""

from __future__ import annotations

from lampwright.parts import load_catalogue
from lampwright.parts.model import Fuse, Wire
from lampwright.piece.model import Circuit

FUSE_SHARE = 0.75
"""Share of its rating that a blade fuse may carry on and on at 25 °C (general fuse guides)."""


def smallest_fuse(continuous: float, peak: float) -> Fuse | None:
    """Return the smallest standard fuse for these currents [A], or None where the largest is too small.

    ``continuous`` may take 0.75 of the rating, ``peak`` the whole of it.
    """
    needed = max(continuous / FUSE_SHARE, peak) * (1 - 1e-6)  # currents are kept to seven digits
    fits = [fuse for fuse in load_catalogue().fuses.values() if fuse.rating.value >= needed]
    return min(fits, key=lambda fuse: fuse.rating.value, default=None)


def standard_fuses() -> list[Fuse]:
    """Return the fuses of the catalogue, the smallest first."""
    return sorted(load_catalogue().fuses.values(), key=lambda fuse: fuse.rating.value)


def carried_behind_fuse(wire: Wire) -> float:
    """Return what a wire may carry on and on behind the largest standard fuse that still protects it. [A]

    0 where even the smallest fuse is more than the wire may carry.
    """
    ratings = [fuse.rating.value for fuse in load_catalogue().fuses.values()]
    return FUSE_SHARE * max((each for each in ratings if each <= wire.ampacity.value), default=0.0)


def circuit_fuse(circuit: Circuit) -> Fuse:
    """Return the fuse in a circuit's lead: as stated, else the smallest that carries its cap, yet none that its lead
    may not carry.

    So another show within the cap asks for no other fuse where the lead is thick enough; where it isn't, the wire
    comes first.
    """
    if circuit.wiring.lead.fuse is not None:
        return circuit.wiring.lead.fuse
    fuses = standard_fuses()
    by_cap = smallest_fuse(circuit.current_cap, circuit.current_cap) or fuses[-1]
    allowed = [fuse for fuse in fuses if fuse.rating.value <= circuit.wiring.lead.wire.ampacity.value]
    return min(by_cap, allowed[-1], key=lambda fuse: fuse.rating.value) if allowed else fuses[0]
