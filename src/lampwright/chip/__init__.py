"""The bench: firmware goes in, decoded frames of its data lines and their timing come out.

:class:`EmulatedChip` is an emulated ATmega328P, ATmega2560 or ATmega32U4, cycle by cycle; :class:`Bench` is what
anything that runs firmware offers.
"""

from __future__ import annotations

from lampwright.chip.bench import (
    Bench,
    BenchStoppedError,
    BitWindows,
    Frames,
    Line,
    LineReport,
    ResetCause,
    TimingBreach,
)
from lampwright.chip.emulated import EmulatedChip
from lampwright.chip.snapshot import Snapshot

__all__ = [
    "Bench",
    "BenchStoppedError",
    "BitWindows",
    "EmulatedChip",
    "Frames",
    "Line",
    "LineReport",
    "ResetCause",
    "Snapshot",
    "TimingBreach",
]
