"""What is rehearsed: a circuit's show and the flash image built for it."""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.show import CircuitShow


@dataclass(frozen=True)
class Part:
    """A circuit's show and the flash image built for it."""

    show: CircuitShow
    image: bytes
    start_up: float = 0.0
    """From a reset to the first instruction, as the fuses set it. [s]"""
    kept_clock: range | None = None
    """RAM addresses of the clock that is kept through resets, two slots of one size; only faults need it."""
    variables_end: int | None = None
    """First RAM address after all variables; without it nothing is said of the stack."""
