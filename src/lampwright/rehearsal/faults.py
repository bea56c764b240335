"""Faults put into a running firmware on purpose, and what came of them, as data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from lampwright.findings.model import Finding, Severity
from lampwright.firmware.image import RamSymbol

KEPT_CLOCK = "kept"
"""Name of the firmware's variable that holds the show clock through resets."""

LAG_TOLERANCE_FRAMES = 2
BASIS = "firmware's own binary on an emulated chip, faults at random cycles"


class Fault(Enum):
    """What goes wrong."""

    RESET_BUTTON = "the reset button is pressed"
    BROWN_OUT = "the supply dips"
    SAG = "the supply sags through the brown-out level, again and again"
    POWER_LOSS = "power is lost for seconds or minutes, RAM with it"
    POWER_BLINK = "power is lost and back at once, RAM partly kept"
    ONE_SLOT = "the supply dips and one slot of the kept clock is spoiled"
    BOTH_SLOTS = "the supply dips and both slots of the kept clock are spoiled"
    SOME_BYTES = "the supply dips and a few bytes of the kept clock are spoiled"
    HANG = "the main loop hangs"
    EEPROM_ONES = "power is lost and the EEPROM holds ones"
    EEPROM_ZEROS = "power is lost and the EEPROM holds zeros"
    EEPROM_NOISE = "power is lost and the EEPROM holds noise"


SPOILS_CLOCK = frozenset((Fault.ONE_SLOT, Fault.BOTH_SLOTS, Fault.SOME_BYTES))
"""Faults that need the kept clock's place in RAM."""

SPOILS_EEPROM = frozenset((Fault.EEPROM_ONES, Fault.EEPROM_ZEROS, Fault.EEPROM_NOISE))
"""Faults that leave no minute to go on with."""

ALWAYS_STARTS_ANEW = SPOILS_EEPROM | {Fault.RESET_BUTTON}
"""Faults after which a new countdown is right, whatever a loss of power does."""

LOSES_POWER = frozenset((Fault.POWER_LOSS, Fault.POWER_BLINK))
"""Faults after which the maker chooses what happens."""

LOSES_CLOCK = frozenset((Fault.POWER_LOSS, Fault.BOTH_SLOTS))
"""Faults that leave no kept clock."""


class Moment(Enum):
    """When it goes wrong."""

    STANDBY = "in standby"
    FADE = "in a fade"
    SHOW = "in the show, outside fades"
    LINE_WRITE = "while the line is written"
    CLOCK_WRITE = "while the clock is kept"
    MINUTE_WRITE = "while a minute is written"


class Outcome(Enum):
    """What came of a fault."""

    RESUMED = "the show goes on at its place"
    LAST_MINUTE = "the show goes on with its last full minute"
    STARTED_ANEW = "a new countdown"
    ELSEWHERE = "the show goes on at another place"
    WRONG_FRAMES = "frames that are not the show's near that time"
    SILENT = "no frame any more"
    STOPPED = "the chip could not go on"


@dataclass(frozen=True)
class FaultPlan:
    """How many faults, where, and how long the show is watched afterwards."""

    count: int = 1000
    seed: int = 1
    """The same seed gives the same faults."""
    show_seconds: float = 330.0
    """Faults fall into the standby and this much of the show, at most one pass. [s]"""
    compared_seconds: float = 0.65
    """Time compared after the first frame: longer than the indicator stays the same. [s]"""
    patience_seconds: float = 2.0
    """For so long the first frame is waited for. [s]"""
    watchdog_error: float = 0.0
    """By how much of its nominal length a watchdog time-out is longer."""


@dataclass(frozen=True)
class InjectedFault:
    """One fault and what came of it."""

    fault: Fault
    moment: Moment
    cycle: int
    """Since power-on."""
    outcome: Outcome
    is_as_wanted: bool
    """The right outcome for this fault, no frame but the show's, no bit outside its window."""
    silence: float | None
    """From the fault to the end of the first whole frame after it: meanwhile the strip keeps its last frame,
    or is dark where power was lost. ``None``: there was no such frame. [s]"""
    lag_frames: int
    """How many frames behind (positive) or ahead the show went on; 0 for a new countdown."""
    n_wrong: int
    """Frames that are not the show's; one that was cut short counts only where it differs before the cut."""
    is_cut: bool
    """The fault broke off a frame, so that the strip shows parts of two."""
    n_breach: int
    """Bits outside their windows since the fault, beyond the one that was broken off."""
    reason: str = ""
    """Why the chip could not go on, if so."""
    spoiled: bytes = b""
    """Where the kept clock was spoiled, the bits that were turned over in each of its bytes."""


@dataclass(frozen=True)
class FaultSummary:
    """All faults of one kind."""

    fault: Fault
    count: int
    failures: int
    resumed: int
    last_minute: int
    started_anew: int
    cut: int
    n_wrong: int
    """Frames that are not the show's, of all these faults."""
    longest_silence: float
    """[s]"""
    largest_lag: int
    """By amount, with its sign. [frame]"""
    darkest: InjectedFault
    """The one with the longest time without a new frame."""
    worst: InjectedFault | None
    """The first that failed."""


@dataclass(frozen=True)
class FaultReport:
    """What a circuit's firmware made of all faults."""

    name: str
    injected: tuple[InjectedFault, ...]
    left_out: tuple[str, ...]
    """Kinds and moments that could not be tried, with the reason."""
    summaries: tuple[FaultSummary, ...]
    findings: tuple[Finding, ...]


def kept_clock(ram_map: Sequence[RamSymbol]) -> range | None:
    """Return the RAM addresses of the kept clock in a build's RAM map, or ``None`` when there is none."""
    found = next((symbol for symbol in ram_map if symbol.name == KEPT_CLOCK), None)
    return range(found.address, found.address + found.size) if found else None


def make_report(name: str, injected: Sequence[InjectedFault], left_out: Sequence[str], clock_hz: float) -> FaultReport:
    """Sum up and judge what came of a circuit's faults."""
    summaries = tuple(
        _summarise(fault, [one for one in injected if one.fault is fault])
        for fault in Fault
        if any(one.fault is fault for one in injected)
    )
    failed = [summary for summary in summaries if summary.failures]
    findings = [_failure(name, summary, clock_hz) for summary in failed] or [_success(name, summaries, left_out)]
    return FaultReport(name, tuple(injected), tuple(left_out), summaries, tuple(findings))


def _summarise(fault: Fault, injected: Sequence[InjectedFault]) -> FaultSummary:
    failures = [one for one in injected if not one.is_as_wanted]
    return FaultSummary(
        fault=fault,
        count=len(injected),
        failures=len(failures),
        resumed=sum(one.outcome is Outcome.RESUMED for one in injected),
        last_minute=sum(one.outcome is Outcome.LAST_MINUTE for one in injected),
        started_anew=sum(one.outcome is Outcome.STARTED_ANEW for one in injected),
        cut=sum(one.is_cut for one in injected),
        n_wrong=sum(one.n_wrong for one in injected),
        longest_silence=max(_silence(one) for one in injected),
        largest_lag=max((one.lag_frames for one in injected), key=abs),
        darkest=max(injected, key=_silence),
        worst=failures[0] if failures else None,
    )


def _silence(one: InjectedFault) -> float:
    return one.silence if one.silence is not None else float("inf")


def _success(name: str, summaries: Sequence[FaultSummary], left_out: Sequence[str]) -> Finding:
    count = sum(summary.count for summary in summaries)
    summary = f"the show survives {count} faults at random cycles, of {len(summaries)} kinds"
    if left_out:
        summary += "; not tried: " + ", ".join(left_out)
    silence = max((one.longest_silence for one in summaries), default=0.0)
    lag = max((abs(one.largest_lag) for one in summaries if one.fault is not Fault.SAG), default=0)
    sag = max((abs(one.largest_lag) for one in summaries if one.fault is Fault.SAG), default=0)
    cut = sum(one.cut for one in summaries)
    value = (
        f"{silence * 1e3:.0f} ms without a new frame at most, {_frames(lag)} off, {sag} after a sagging supply, "
        f"{_frames(cut)} cut short"
    )
    severity = Severity.PASS if count and not left_out else Severity.WARN
    do = "" if severity is Severity.PASS else "build the firmware from the piece file, unchanged, and try again"
    return Finding("REHEARSAL-011", severity, name, summary, value, _limit(), None, do, BASIS)


def _failure(name: str, summary: FaultSummary, clock_hz: float) -> Finding:
    worst = summary.worst
    assert worst is not None
    return Finding(
        "REHEARSAL-011",
        Severity.FAIL,
        name,
        f"a fault is not survived: {summary.fault.value}; {summary.failures} of {summary.count} times",
        f"{worst.moment.value}, {worst.cycle / clock_hz:.6f} s after power-on: {_what_happened(worst)}",
        _limit(),
        None,
        "build the firmware again from the piece file; if you changed its source, look at clock.cpp, at where "
        "main.cpp feeds the watchdog, and at what runs before the pixels are written",
        BASIS,
    )


def _limit() -> str:
    return (
        f"back within {LAG_TOLERANCE_FRAMES} frames of its place, half a frame more for each reset of a sagging "
        "supply; a new countdown or the last full minute where one is due"
    )


def _what_happened(one: InjectedFault) -> str:
    if one.outcome is Outcome.STOPPED:
        return f"{one.outcome.value}: {one.reason}"
    if one.outcome is Outcome.ELSEWHERE:
        return f"{one.outcome.value}, {_frames(abs(one.lag_frames))} {'late' if one.lag_frames > 0 else 'early'}"
    if one.n_wrong:
        return f"{Outcome.WRONG_FRAMES.value}, {one.n_wrong} of them"
    if one.n_breach:
        return f"{one.n_breach} bits outside their windows"
    return str(one.outcome.value)


def _frames(count: int) -> str:
    return f"{count} frame" if count == 1 else f"{count} frames"
