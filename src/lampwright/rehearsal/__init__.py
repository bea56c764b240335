"""The rehearsal: built firmware goes in, runs on an emulated chip, findings come out."""

from __future__ import annotations

from lampwright.rehearsal.countdown_picture import draw_countdown
from lampwright.rehearsal.earlier import Earlier
from lampwright.rehearsal.faults import FaultPlan, FaultReport, FaultSummary, kept_clock
from lampwright.rehearsal.injected import inject_faults
from lampwright.rehearsal.model import CircuitRehearsal, Plan, Rehearsal
from lampwright.rehearsal.part import Part
from lampwright.rehearsal.picture import draw_rehearsal
from lampwright.rehearsal.run import rehearse, rehearse_circuit
from lampwright.rehearsal.timekeeping import apart_after, judge_timekeeping, noticed_after
from lampwright.rehearsal.timing_picture import draw_timing

__all__ = [
    "CircuitRehearsal",
    "Earlier",
    "FaultPlan",
    "FaultReport",
    "FaultSummary",
    "Part",
    "Plan",
    "Rehearsal",
    "apart_after",
    "draw_countdown",
    "draw_rehearsal",
    "draw_timing",
    "inject_faults",
    "judge_timekeeping",
    "kept_clock",
    "noticed_after",
    "rehearse",
    "rehearse_circuit",
]
