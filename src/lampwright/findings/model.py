"""The Finding: what was checked, the value, the limit, the margin, and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Severity(Enum):
    """How much a finding matters. Only ``FAIL`` makes a check fail."""

    PASS = "pass"
    NOTE = "note"
    WARN = "warn"
    FAIL = "fail"


@dataclass(frozen=True)
class Finding:
    """One answer of the program, ready to show.

    ``value`` and ``limit`` are texts with their units, as a maker would say them;
    ``margin`` is the share of the limit still free (0.25: a quarter), or ``None``
    where a margin has no meaning.
    """

    code: str
    """Stable code such as "POWER-003"; its page is ``lampwright explain CODE``."""
    severity: Severity
    subject: str
    """What it is about: the piece, or a circuit's name."""
    summary: str
    value: str
    limit: str
    margin: float | None
    do: str
    """What to do about it; empty when it passed."""
    basis: str = ""
    """Where the figures come from: the formula's name and the status of its inputs."""
    moment: float | None = None
    """When it is worst, since power-on; ``None`` where it is about no moment. [s]"""
