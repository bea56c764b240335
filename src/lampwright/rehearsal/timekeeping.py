"""How far the circuits of a piece run apart: switched on one after the other, each by its own clock.

Circuits don't talk to each other. What one is ahead at the start it stays ahead; clocks add to it.
"""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.findings.model import Finding, Severity
from lampwright.piece.model import Piece
from lampwright.rehearsal.model import CircuitRehearsal
from lampwright.show import CircuitShow
from lampwright.units import format_quantity

NOTICED_SIDE_BY_SIDE = 0.040  # [s] common practice, no source; which of two comes first is told from 20 to 60 ms on
NOTICED_APART = 0.100  # [s] common practice, no source

BASIS = "spread + 2 x clock tolerance x time; clock tolerances of the catalogue"


def apart_after(spread: float, tolerance: float, seconds: float) -> float:
    """Return how far two circuits are apart at worst: one fast, one slow, switched on ``spread`` apart. [s]"""
    return spread + 2 * tolerance * seconds


def noticed_after(tolerance: float, threshold: float) -> float:
    """Return when two circuits switched on together are ``threshold`` apart at worst. [s]"""
    return threshold / (2 * tolerance) if tolerance > 0 else float("inf")


def judge_timekeeping(piece: Piece, shows: Sequence[CircuitShow], seen: Sequence[CircuitRehearsal]) -> Finding | None:
    """Return how far the circuits are apart over the evening; ``None`` where nothing was rehearsed."""
    if not shows:
        return None
    tolerance = max(show.layout.circuit.board.clock_tolerance.value for show in shows)
    evening = piece.brief.standby + piece.brief.run_time
    if len(shows) == 1:
        return _alone(piece, tolerance, evening)
    spread = piece.standby.switch_on_spread + _start_spread(seen)
    begun, ended = (apart_after(spread, tolerance, seconds) for seconds in (piece.brief.standby, evening))
    value = f"{_say(begun)} apart when the show starts, {_say(ended)} after {_say(evening)}"
    limit = f"noticed from {_say(NOTICED_SIDE_BY_SIDE)} side by side, {_say(NOTICED_APART)} some way apart"
    name = piece.brief.name
    staggers = [cue.stagger for cue in piece.show.cues if cue.stagger > 0]
    if staggers and ended > min(staggers):
        summary = f"circuits run further apart than a cue's stagger of {_say(min(staggers))}: what travels gets lost"
        do = (
            "switch all circuits on by one switch and use boards with crystals, or leave the stagger out; what goes "
            "from circuit to circuit can't be kept in step"
        )
        return Finding("REHEARSAL-015", Severity.WARN, name, summary, value, limit, None, do, BASIS)
    if ended <= NOTICED_SIDE_BY_SIDE:
        return Finding("REHEARSAL-015", Severity.PASS, name, "circuits keep in step", value, limit, None, "", BASIS)
    summary = (
        "circuits run apart, as they were switched on; clocks alone bring them "
        f"{_say(NOTICED_APART)} apart in {_say(noticed_after(tolerance, NOTICED_APART))}"
    )
    do = "choose looks that look meant when out of step, and don't count on anything that happens at once everywhere"
    return Finding("REHEARSAL-015", Severity.NOTE, name, summary, value, limit, None, do, BASIS)


def _alone(piece: Piece, tolerance: float, evening: float) -> Finding:
    summary = "the show keeps its time, by the clock's tolerance"
    value = f"{_say(tolerance * piece.brief.standby)} at the start, {_say(tolerance * evening)} after {_say(evening)}"
    return Finding("REHEARSAL-015", Severity.PASS, piece.brief.name, summary, value, "", None, "", BASIS)


def _start_spread(seen: Sequence[CircuitRehearsal]) -> float:
    """Return by how much the rehearsed circuits' shows started apart, counted from power-on. [s]"""
    starts = [one.show_start_seconds for one in seen if one.show_start_seconds is not None]
    return max(starts) - min(starts) if starts else 0.0


def _say(seconds: float) -> str:
    """Return a time as a maker would say it: whole seconds from ten seconds on, three digits below."""
    return format_quantity(round(seconds) if seconds >= 10 else float(f"{seconds:.3g}"), "time")
