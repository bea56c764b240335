"""Which pin each run's data line is on."""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.firmware.target import Target
from lampwright.show.model import CircuitShow
from lampwright.units.errors import MakerError, Problem


@dataclass(frozen=True)
class SourceRun:
    """One run as the firmware sends it."""

    name: str
    struct: str
    """Name of the run's pin in the C++."""
    port: str
    bit: int
    first: int
    n_pixel: int

    @property
    def pin(self) -> str:
        """Return the pin's name, such as "PD6"."""
        return f"P{self.port}{self.bit}"


def place_runs(show: CircuitShow, target: Target) -> tuple[SourceRun, ...]:
    """Return the runs in the order in which they are sent.

    Raises
    ------
    MakerError
        FIRMWARE-005, a pin that isn't there, that has other work, or that two runs share.
    """
    circuit = show.layout.circuit
    runs: list[SourceRun] = []
    problems = []
    for number, layout in enumerate(show.layout.runs, start=1):
        pin = layout.run.pin
        place = _place(pin, target) if pin in circuit.board.pins else None
        if place is None:
            problems.append(
                Problem(
                    "FIRMWARE-005",
                    f'run "{layout.run.name}" of circuit "{circuit.name}" can\'t use its pin',
                    f'"{pin}"',
                    ", ".join(each for each in circuit.board.pins if _place(each, target)),
                    "choose one of these pins",
                )
            )
            continue
        other = next((run for run in runs if run.pin == pin), None)
        if other is not None:
            problems.append(
                Problem(
                    "FIRMWARE-005",
                    f'two runs of circuit "{circuit.name}" share a pin',
                    f'"{pin}" for "{other.name}" and "{layout.run.name}"',
                    "a pin of its own for each run",
                    f'give "{layout.run.name}" another pin, or join the two runs into one',
                )
            )
        runs.append(SourceRun(layout.run.name, f"Run{number}", *place, layout.first, layout.n_pixel))
    if problems:
        raise MakerError(problems)
    return tuple(runs)


def _place(pin: str, target: Target) -> tuple[str, int] | None:
    """Return a pin's port and bit, or ``None`` when the chip has no such pin free."""
    for port in target.ports:
        for bit in range(8):
            if pin == f"P{port.letter}{bit}" and port.usable >> bit & 1:
                return port.letter, bit
    return None
