"""Judges what a rehearsal saw."""

from __future__ import annotations

from collections.abc import Iterator

from lampwright.chip.bench import LineReport
from lampwright.findings.model import Finding, Severity
from lampwright.parts.model import LineTiming, Window
from lampwright.piece.model import Circuit
from lampwright.rehearsal.chip_findings import judge_chip
from lampwright.rehearsal.compare import Mismatch
from lampwright.rehearsal.model import CircuitRehearsal, Plan
from lampwright.show import CircuitShow
from lampwright.units import format_quantity

RESUME_TOLERANCE_FRAMES = 2
START_TOLERANCE_SECONDS = 0.5
JITTER_TOLERANCE = 0.01
"""Share of the frame period by which an interval may differ."""

LEAST_SPARE = 0.05
"""Share of a frame that should stay free."""

BASIS = "firmware's own binary on an emulated chip"


def judge(show: CircuitShow, seen: CircuitRehearsal, plan: Plan, clock_hz: float) -> tuple[Finding, ...]:
    """Return the findings of one circuit's rehearsal, in the order a maker wants them."""
    found = [_frames(show, seen)]
    if seen.stopped is not None:
        found.insert(0, _stopped(seen))
    if seen.n_frame:
        found.extend(_timing(show.layout.circuit, seen, clock_hz))
        found.append(_pacing(show, seen))
        found.append(_current(show, seen))
    if seen.show_start_seconds is not None:
        found.append(_indicator(seen))
        found.append(_start(show, seen))
    elif any(count.shown > count.minutes_left for count in seen.minutes):
        found.append(_indicator(seen))
    if seen.resume is not None:
        found.append(_resume(show, seen))
    found.extend(judge_chip(show, seen))
    found.append(_coverage(show, seen, plan))
    return tuple(found)


def _make(seen: CircuitRehearsal, code: str, passed: bool, texts: tuple[str, str, str, str],
          margin: float | None = None) -> Finding:  # fmt: skip
    summary, value, limit, do = texts
    severity = Severity.PASS if passed else Severity.FAIL
    return Finding(code, severity, seen.name, summary, value, limit, margin, "" if passed else do, BASIS)


def _stopped(seen: CircuitRehearsal) -> Finding:
    texts = ("the chip could not go on", seen.stopped or "", "runs to the end", "see the page of this code")
    return _make(seen, "REHEARSAL-001", False, texts)


def _frames(show: CircuitShow, seen: CircuitRehearsal) -> Finding:
    wrong = seen.mismatch
    if wrong is None:
        passed = seen.n_frame > 0
        summary = f"what the chip sends is the show: {seen.n_bit / 1e6:.1f} million bits compared"
        texts = (summary, f"{seen.n_frame} frames", "every bit equal", "look at REHEARSAL-001 first")
        return _make(seen, "REHEARSAL-002", passed, texts)
    texts = (
        "the chip sends something else than the show",
        _mismatch_text(wrong, show),
        "every bit equal",
        "build the firmware again from the piece file; if you changed its source, change the look instead",
    )
    return _make(seen, "REHEARSAL-002", False, texts)


def _mismatch_text(wrong: Mismatch, show: CircuitShow) -> str:
    time = format_quantity(wrong.frame * show.frame_ms / 1000, "time")
    where = f'frame {wrong.frame} ({time} after power-on), run "{wrong.run}", pixel {wrong.pixel}'
    if not wrong.sent:
        return f"{where}: the line broke off or went on too long"
    sent = ", ".join(str(code) for code in wrong.sent)
    meant = ", ".join(str(code) for code in wrong.meant)
    return f"{where}: sent red, green, blue {sent}; meant {meant}"


def _timing(circuit: Circuit, seen: CircuitRehearsal, clock_hz: float) -> Iterator[Finding]:
    for run, report in seen.lines.items():
        yield _bits(circuit.strip.timing, seen, run, report, clock_hz)
    latch = min((report.shortest_latch for report in seen.lines.values()), default=0) / clock_hz
    needed = circuit.strip.timing.latch
    texts = (
        "the pause between frames latches them",
        format_quantity(latch, "time"),
        f"at least {format_quantity(needed, 'time')}",
        "lower the show's rate, or drive fewer pixels on this circuit",
    )
    yield _make(seen, "REHEARSAL-004", latch >= needed, texts)


def _bits(timing: LineTiming, seen: CircuitRehearsal, run: str, report: LineReport, clock_hz: float) -> Finding:
    windows = {
        "zero high": timing.zero_high,
        "zero low": timing.zero_low,
        "one high": timing.one_high,
        "one low": timing.one_low,
    }
    breach = report.first_breach
    if breach is not None:
        window = windows[breach.half]
        texts = (
            f'run "{run}": a bit is outside its window',
            f"{breach.half} {breach.cycles / clock_hz * 1e9:.0f} ns in frame {breach.frame}, bit {breach.bit}; "
            f"{report.n_breach} of {2 * report.n_bit} highs and lows",
            _window_text(window),
            "don't change the sender by hand; build the firmware again",
        )
        return _make(seen, "REHEARSAL-003", False, texts)
    margin = min(_room(windows[half], report, half, clock_hz) for half in windows)
    halves = {half: f"{report.shortest[half] / clock_hz * 1e9:.0f}" for half in windows if half in report.shortest}
    summary = f'run "{run}": every bit within its windows ({", ".join(halves)})'
    texts = (summary, f"{', '.join(halves.values())} ns", "all windows kept", "")
    return _make(seen, "REHEARSAL-003", True, texts, margin)


def _window_text(window: Window) -> str:
    return f"{window.least * 1e9:.0f} to {window.most * 1e9:.0f} ns"


def _room(window: Window, report: LineReport, half: str, clock_hz: float) -> float:
    """Return how much of the window's half width is left at the nearer side. [1]"""
    if half not in report.shortest:
        return 1.0
    low, high = report.shortest[half] / clock_hz, report.longest[half] / clock_hz
    return min(low - window.least, window.most - high) / ((window.most - window.least) / 2)


def _pacing(show: CircuitShow, seen: CircuitRehearsal) -> Finding:
    period = show.frame_ms / 1000
    off = max(abs(seen.shortest_interval - period), abs(seen.longest_interval - period)) / period
    do = "choose a lower rate in [show], or a simpler look for the cue at that moment"
    if off > JITTER_TOLERANCE:
        gaps = f"{seen.shortest_interval * 1e3:.3f} to {seen.longest_interval * 1e3:.3f} ms from frame to frame"
        texts = ("frames are left out or late", gaps, f"{show.frame_ms} ms, within {JITTER_TOLERANCE * 100:.0f} %", do)
        return _make(seen, "REHEARSAL-005", False, texts)
    if seen.busiest_seconds is None:
        return _make(seen, "REHEARSAL-005", True, ("frames keep their pace", f"{show.frame_ms} ms", "steady", do))
    busy = f"{seen.busiest_seconds * 1e3:.1f} ms at the busiest"
    spare = 1 - seen.busiest_seconds / period
    if spare >= LEAST_SPARE:
        texts = ("frames keep their pace, and there is time to spare", busy, f"{show.frame_ms} ms", do)
        return _make(seen, "REHEARSAL-005", True, texts, spare)
    summary = "frames keep their pace with next to no time to spare: a part not rehearsed may take longer"
    limit = f"{show.frame_ms} ms"
    return Finding("REHEARSAL-005", Severity.WARN, seen.name, summary, busy, limit, spare, do, BASIS)


def _current(show: CircuitShow, seen: CircuitRehearsal) -> Finding:
    cap = show.layout.circuit.current_cap
    texts = (
        "the decoded frames draw no more than allowed",
        format_quantity(seen.peak_current, "current"),
        f"at most {format_quantity(cap, 'current')}",
        "build the firmware again: its limiter doesn't hold",
    )
    # the limiter's own weights are rounded to 10 µA a channel
    return _make(seen, "REHEARSAL-006", seen.peak_current <= cap * 1.001, texts, 1 - seen.peak_current / cap)


def _indicator(seen: CircuitRehearsal) -> Finding:
    wrong = [m for m in seen.minutes if m.shown != m.minutes_left]
    flashes = [count for count in seen.flashes_per_minute if count != 60]
    if wrong:
        value = f"{wrong[0].shown} pixels with {wrong[0].minutes_left} minutes left"
    elif flashes:
        value = f"{flashes[0]} flashes in one minute"
    else:
        most, least = seen.minutes[0].shown, seen.minutes[-1].shown
        value = "1 pixel, 60 flashes" if most == 1 else f"{most} to {least} pixels, 60 flashes each"
    texts = (
        "the count indicator shows the minutes left",
        value,
        "minutes left, one flash a second",
        "build the firmware again",
    )
    return _make(seen, "REHEARSAL-007", not wrong and not flashes, texts)


def _start(show: CircuitShow, seen: CircuitRehearsal) -> Finding:
    due = show.standby_frames * show.frame_ms / 1000
    begun = seen.show_start_seconds or 0.0
    late = begun - due
    tolerance = circuit_tolerance(show) * due + START_TOLERANCE_SECONDS
    texts = (
        "the show starts when the countdown says, counted from power-on at the nominal clock",
        f"{begun:.3f} s",
        f"{due:.0f} s ± {START_TOLERANCE_SECONDS} s",
        "build the firmware again",
    )
    return _make(seen, "REHEARSAL-008", abs(late) <= START_TOLERANCE_SECONDS, texts, 1 - abs(late) / tolerance)


def circuit_tolerance(show: CircuitShow) -> float:
    """Return the board's worst clock error. [1]"""
    return show.layout.circuit.board.clock_tolerance.value


def _resume(show: CircuitShow, seen: CircuitRehearsal) -> Finding:
    resume = seen.resume
    assert resume is not None
    good = resume.is_found and abs(resume.lag_frames) <= RESUME_TOLERANCE_FRAMES and resume.mismatch is None
    if not resume.is_found:
        value = "the first frame after the reset is not one of the show near that time"
    elif resume.mismatch is not None:
        value = _mismatch_text(resume.mismatch, show)
    else:
        late = "late" if resume.lag_frames >= 0 else "early"
        value = f"dark for {resume.dark_time * 1e3:.0f} ms, {abs(resume.lag_frames)} frames {late}"
    texts = (
        f"after a hang the watchdog brings the show back at its place; {resume.n_compared} more frames equal",
        value,
        f"at most {RESUME_TOLERANCE_FRAMES} frames off",
        "build the firmware again",
    )
    return _make(seen, "REHEARSAL-009", good, texts)


def _coverage(show: CircuitShow, seen: CircuitRehearsal, plan: Plan) -> Finding:
    whole = show.pass_frames * show.frame_ms / 1000
    run = plan.show_seconds
    reset = "one watchdog reset in mid-show" if plan.is_reset_injected else "no reset"
    not_covered = "other resets and a sagging supply (see --faults), later passes"
    if run < whole:
        not_covered = f"the show from {format_quantity(run, 'time')} on, " + not_covered
    return Finding(
        "REHEARSAL-010",
        Severity.NOTE,
        seen.name,
        f"covered: the whole standby, {format_quantity(run, 'time')} of the show, {reset}; not covered: {not_covered}",
        f"{format_quantity(round(seen.simulated_seconds), 'time')} run",
        "",
        None,
        "rehearse longer with --show-time, and test the real board on its pack for a whole night",
        BASIS,
    )
