"""Judges what a rehearsal saw of the chip itself: resets, wear, a wrong clock."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lampwright.findings.model import Finding, Severity
from lampwright.rehearsal.model import CircuitRehearsal, ClockTrial
from lampwright.rehearsal.wrong_clock import GROSS_ERROR
from lampwright.show import CircuitShow

EEPROM_ENDURANCE = 100_000
"""Writes that an EEPROM cell stands (ATmega328P datasheet, data retention and endurance). [1]"""

SERVICE_HOURS = 1000
"""That a board's EEPROM should last; some two hundred evenings (common practice, no source). [h]"""

LEAST_UNTOUCHED = 32
"""Between stack and variables, for an interrupt that comes at the deepest place (common practice, no source). [byte]"""

PERIOD_TOLERANCE = 1e-4
"""Share by which a frame may differ from what the clock's error makes of it."""

BASIS = "firmware's own binary on an emulated chip"


def judge_chip(show: CircuitShow, seen: CircuitRehearsal) -> Iterator[Finding]:
    """Yield what there is to say of the chip."""
    if seen.watchdog_resets:
        yield _watchdog(seen, seen.watchdog_resets)
    if seen.most_eeprom_writes is not None and seen.undisturbed_seconds > 0:
        yield _wear(seen, seen.most_eeprom_writes)
    if seen.clock_trials:
        yield _clocks(show, seen)
    if seen.untouched_ram is not None:
        yield _stack(seen, seen.untouched_ram)


def _watchdog(seen: CircuitRehearsal, count: int) -> Finding:
    times = "once" if count == 1 else f"{count} times"
    return Finding(
        "REHEARSAL-012",
        Severity.FAIL,
        seen.name,
        "the watchdog resets the chip though nothing disturbs it",
        f"{times} in {seen.undisturbed_seconds:.1f} s",
        "never",
        None,
        "build the firmware again; if you changed its source: the loop must feed the watchdog once a frame, with "
        "interrupts on while it waits for the tick",
        BASIS,
    )


def _wear(seen: CircuitRehearsal, most: int) -> Finding:
    limit = EEPROM_ENDURANCE / SERVICE_HOURS
    # a cell that was written once in a short rehearsal may not be written again for hours: the safe side
    rate = most / (seen.undisturbed_seconds / 3600)
    passed = rate <= limit
    return Finding(
        "REHEARSAL-013",
        Severity.PASS if passed else Severity.FAIL,
        seen.name,
        "no EEPROM cell wears out" if passed else "an EEPROM cell wears out",
        "no cell is written" if most == 0 else f"at most {rate:.3g} writes an hour to one cell",
        f"{limit:g} an hour: {EEPROM_ENDURANCE} writes in {SERVICE_HOURS} hours of show",
        1 - rate / limit,
        ""
        if passed
        else "build the firmware again; if you changed its source: write less often, and not always the same cells",
        BASIS,
    )


def _stack(seen: CircuitRehearsal, untouched: int) -> Finding:
    passed = untouched >= LEAST_UNTOUCHED
    return Finding(
        "REHEARSAL-016",
        Severity.PASS if passed else Severity.FAIL,
        seen.name,
        "the stack keeps clear of the variables" if passed else "the stack comes down to the variables",
        f"{untouched} bytes of RAM never reached" if untouched else "no byte between them left",
        f"at least {LEAST_UNTOUCHED} bytes",
        None,
        ""
        if passed
        else "drive fewer pixels on this circuit; if you changed the source: smaller local arrays, no recursion",
        BASIS,
    )


def _clocks(show: CircuitShow, seen: CircuitRehearsal) -> Finding:
    tolerance = show.layout.circuit.board.clock_tolerance.value
    own = [trial for trial in seen.clock_trials if abs(trial.error) < GROSS_ERROR or tolerance >= GROSS_ERROR]
    gross = [trial for trial in seen.clock_trials if trial not in own]
    bad, bad_gross = _first_bad(own, show), _first_bad(gross, show)
    if bad is not None:
        severity, value = Severity.FAIL, _trial_text(bad)
    elif bad_gross is not None:
        severity, value = Severity.NOTE, f"right at {_percent(tolerance)}; {_trial_text(bad_gross)}"
    else:
        widest = max(abs(trial.error) for trial in seen.clock_trials)
        severity, value = Severity.PASS, f"right up to {_percent(widest)} fast or slow"
    return Finding(
        "REHEARSAL-014",
        severity,
        seen.name,
        "pixels understand a chip whose clock is wrong",
        value,
        f"within the board's tolerance of {_percent(tolerance)}",
        None,
        ""
        if severity is Severity.PASS
        else "use a board with a crystal or a ceramic resonator, as the catalogue says, "
        "never the chip's own oscillator",
        BASIS,
    )


def _first_bad(trials: Sequence[ClockTrial], show: CircuitShow) -> ClockTrial | None:
    def is_bad(trial: ClockTrial) -> bool:
        due = show.frame_ms / 1000 / (1 + trial.error)
        return bool(trial.n_breach or trial.n_wrong or abs(trial.period / due - 1) > PERIOD_TOLERANCE)

    return next((trial for trial in trials if is_bad(trial)), None)


def _trial_text(trial: ClockTrial) -> str:
    side = "fast" if trial.error > 0 else "slow"
    what = f"{trial.n_breach} bits outside their windows" if trial.n_breach else f"{trial.n_wrong} frames wrong"
    return f"{_percent(abs(trial.error))} {side}: {what}"


def _percent(share: float) -> str:
    return f"{share * 100:.3g} %"
