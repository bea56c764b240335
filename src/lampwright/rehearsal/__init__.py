"""The rehearsal: built firmware goes in, runs on an emulated chip, findings come out."""

from __future__ import annotations

from lampwright.rehearsal.model import CircuitRehearsal, Plan, Rehearsal
from lampwright.rehearsal.picture import draw_rehearsal
from lampwright.rehearsal.run import Part, rehearse, rehearse_circuit

__all__ = ["CircuitRehearsal", "Part", "Plan", "Rehearsal", "draw_rehearsal", "rehearse", "rehearse_circuit"]
