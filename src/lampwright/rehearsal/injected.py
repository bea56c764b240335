"""Puts thousands of faults into a circuit's firmware, each forked from one undisturbed run.

The undisturbed chip runs once from power-on. At each fault's cycle its state is copied onto a second
chip, which suffers the fault and is watched until the show is back, while the first one goes on.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.chip import BenchStoppedError, EmulatedChip, Frames
from lampwright.rehearsal.aftermath import Aftermath, Wanted, tolerance_after
from lampwright.rehearsal.breaking import Damage, break_chip
from lampwright.rehearsal.faults import (
    ALWAYS_STARTS_ANEW,
    LOSES_CLOCK,
    LOSES_POWER,
    SPOILS_CLOCK,
    Fault,
    FaultPlan,
    FaultReport,
    InjectedFault,
    Moment,
    Outcome,
    make_report,
)
from lampwright.rehearsal.part import Part
from lampwright.rehearsal.places import MeantFrames, Minutes
from lampwright.rehearsal.run import ProgressReport
from lampwright.rehearsal.stage import listening_lines

WATCHDOG_SECONDS = 0.256
"""Nominal time-out that the firmware sets (ATmega328P datasheet: 32K periods of 128 kHz). [s]"""

EARLIEST_FRAME = 3
"""By then both slots of the kept clock have been written."""

CLOCK_SEARCH_CYCLES, CLOCK_QUIET_CYCLES, CLOCK_MARGIN_CYCLES = 3000, 100, 12
"""The keeping of the clock is looked for so long after a line write; it has ended when nothing changed
for so long; faults fall so far around it. [cycle]"""


@dataclass(frozen=True)
class _Case:
    cycle: int
    fault: Fault
    moment: Moment


def inject_faults(part: Part, plan: FaultPlan, progress: ProgressReport | None = None) -> FaultReport:
    """Put ``plan.count`` faults into one circuit's firmware, kinds and moments in turn, cycles at random.

    Raises
    ------
    BenchStoppedError
        The firmware can't even run undisturbed.
    """
    injector = _Injector(part, plan)
    cases = injector.cases()
    injected = []
    for done, case in enumerate(cases, start=1):
        injected.append(injector.inject(case))
        if progress is not None and (done % 10 == 0 or done == len(cases)):
            progress(done, len(cases))
    return make_report(part.show.layout.circuit.name, injected, injector.left_out, injector.chip.clock_hz)


class _Injector:
    def __init__(self, part: Part, plan: FaultPlan) -> None:
        board = part.show.layout.circuit.board
        self.show, self.plan, self.kept_clock = part.show, plan, part.kept_clock
        self.start_up = part.start_up
        self.chip = EmulatedChip(
            part.image,
            board.clock.value,
            listening_lines(part.show),
            board.chip,
            start_up=part.start_up,
            watchdog_error=plan.watchdog_error,
        )
        self.what_if = self.chip.fork()
        self.dice = np.random.default_rng(plan.seed)
        self.period = round(self.chip.clock_hz * part.show.frame_ms / 1000)
        self.run_bytes = [3 * run.n_pixel for run in part.show.layout.runs]
        self.n_sent = np.zeros(len(self.run_bytes), np.int64)
        self.minutes = Minutes(part.show)
        self.left_out: list[str] = []
        self.first, self.write_cycles = self._first_frame()
        self.aftermath = Aftermath(part.show, MeantFrames(part.show), self.first, self.period)
        self.clock_phases = self._find_clock_write()

    # where faults fall ------------------------------------------------------------------------

    def _first_frame(self) -> tuple[int, int]:
        """Return the cycle at which frame 0 begins, and how long all runs take to be written."""
        patience = round(self.plan.patience_seconds * self.chip.clock_hz)
        parts: list[Frames] = []
        while not self.n_sent.all():
            if self.chip.cycle > patience:
                raise BenchStoppedError("a data line stays silent", self.chip.program_address, self.chip.cycle)
            self.chip.run(self.chip.cycle + self.period)
            parts.append(self._take())
        frames = _join(parts)
        last = np.flatnonzero(frames.line == len(self.run_bytes) - 1)[0]
        first = int(frames.start_cycle[0])
        return first, int(frames.end_cycle[last]) - first

    def _take(self) -> Frames:
        frames = self.chip.take_frames()
        self.n_sent += np.bincount(frames.line, minlength=len(self.n_sent))
        return frames

    def _find_clock_write(self) -> range | None:
        """Return the cycles, counted from a frame's begin, around those in which the kept clock changes."""
        if self.kept_clock is None:
            return None
        frame = (self.chip.cycle - self.first) // self.period + 1
        begin = self.first + frame * self.period
        probe = self.chip.fork()
        probe.run(begin + self.write_cycles)
        before = probe.read_ram(self.kept_clock.start, len(self.kept_clock))
        changes: list[int] = []
        quiet_from = probe.cycle + CLOCK_SEARCH_CYCLES
        while probe.cycle < quiet_from:
            probe.run(probe.cycle + 1)
            now = probe.read_ram(self.kept_clock.start, len(self.kept_clock))
            if now != before:
                before = now
                changes.append(probe.cycle - begin)
                quiet_from = probe.cycle + CLOCK_QUIET_CYCLES
        if not changes:
            return None
        return range(changes[0] - CLOCK_MARGIN_CYCLES, changes[-1] + CLOCK_MARGIN_CYCLES)

    def cases(self) -> list[_Case]:
        """Return all faults by rising cycle."""
        frames = self._frames_by_moment()
        moments = [moment for moment in Moment if len(frames[moment])]
        missed = [moment for moment in Moment if moment not in moments]
        self.left_out += [
            f"faults {moment.value}"
            for moment in missed
            if moment is not Moment.MINUTE_WRITE or self.show.goes_on_until
        ]
        faults = [fault for fault in Fault if self.kept_clock is not None or fault not in SPOILS_CLOCK]
        self.left_out += [f"{fault.value} (its place in RAM is unknown)" for fault in Fault if fault not in faults]
        kinds = itertools.cycle(itertools.product(faults, moments))
        cases = [
            _Case(self._random_cycle(moment, frames[moment]), fault, moment)
            for fault, moment in itertools.islice(kinds, self.plan.count if moments else 0)
        ]
        return sorted(cases, key=lambda case: case.cycle)

    def _frames_by_moment(self) -> dict[Moment, NDArray[np.int64]]:
        show = self.show
        n_show = min(show.pass_frames, max(1, round(self.plan.show_seconds * 1000 / show.frame_ms)))
        number = np.arange(show.standby_frames + n_show)
        within = number - show.standby_frames
        is_fade = np.zeros(len(number), dtype=bool)
        for cue in show.cues:
            is_fade |= (within >= cue.start) & (within < cue.start + cue.fade)
        usable = number >= (self.chip.cycle - self.first) // self.period + EARLIEST_FRAME
        anywhere = number[usable]
        return {
            Moment.STANDBY: number[usable & (within < 0)],
            Moment.FADE: number[usable & is_fade],
            Moment.SHOW: number[usable & (within >= 0) & ~is_fade],
            Moment.LINE_WRITE: anywhere,
            Moment.CLOCK_WRITE: anywhere if self.clock_phases is not None else anywhere[:0],
            Moment.MINUTE_WRITE: number[usable & self.minutes.is_written_at(number)],
        }

    def _random_cycle(self, moment: Moment, frames: NDArray[np.int64]) -> int:
        begin = self.first + int(self.dice.choice(frames)) * self.period
        if moment is Moment.LINE_WRITE:
            return begin + int(self.dice.integers(self.write_cycles))
        if moment is Moment.CLOCK_WRITE and self.clock_phases is not None:
            return begin + int(self.dice.integers(self.clock_phases.start, self.clock_phases.stop))
        return begin + int(self.dice.integers(self.period))

    # one fault -------------------------------------------------------------------------------

    def inject(self, case: _Case) -> InjectedFault:
        """Bring the undisturbed chip to the fault's cycle, and let its twin suffer the fault."""
        self.chip.run(case.cycle)
        self._take()
        chip = self.what_if
        chip.restore(self.chip.save(), noise_seed=int(self.dice.integers(1 << 32)))
        at, breaches = chip.cycle, self._breaches()
        try:
            damage = break_chip(chip, case.fault, self.kept_clock, self.dice)
            frames = self._watch(damage.resets[-1], case.fault)
        except BenchStoppedError as error:
            return InjectedFault(
                case.fault, case.moment, at, Outcome.STOPPED, False, None, 0, 0, False, 0, error.reason
            )
        n_cut_wrong, is_cut = self.aftermath.broken_off(frames, at, self.n_sent)
        n_sag_wrong, whole = self.aftermath.between(frames, damage)
        starts, ends, marks = self.aftermath.whole_frames(frames, damage.resets[-1], self._n_wanted())
        wanted = self._wanted(case, damage)
        place = self.aftermath.place(starts, marks, wanted)
        n_wrong = n_cut_wrong + n_sag_wrong + place.n_wrong
        # each reset may break off a bit
        n_broken_bit = len(damage.resets) if len(damage.resets) > 1 else int(is_cut)
        n_breach = max(0, self._breaches() - breaches - n_broken_bit)
        return InjectedFault(
            fault=case.fault,
            moment=case.moment,
            cycle=at,
            outcome=place.outcome,
            is_as_wanted=place.outcome in wanted.outcomes and n_wrong + n_breach == 0,
            silence=float(np.diff([at, *whole, ends[0]]).max()) / chip.clock_hz if len(ends) else None,
            lag_frames=place.lag,
            n_wrong=n_wrong,
            is_cut=is_cut,
            n_breach=n_breach,
            spoiled=damage.spoiled,
        )

    def _breaches(self) -> int:
        return sum(self.what_if.report(index).n_breach for index in range(len(self.run_bytes)))

    def _wanted(self, case: _Case, damage: Damage) -> Wanted:
        """Return what may rightly come of a fault."""
        goes_on = self.show.goes_on_until > 0
        minutes = self.minutes.allowed(self.aftermath.number_at(case.cycle)) if goes_on else (0,)
        without_clock = {Outcome.LAST_MINUTE if minute else Outcome.STARTED_ANEW for minute in minutes}
        if case.fault in ALWAYS_STARTS_ANEW or (not goes_on and case.fault in LOSES_POWER):
            outcomes, minutes = {Outcome.STARTED_ANEW}, ()
        elif case.fault in LOSES_CLOCK or damage.are_both_slots_spoiled:
            outcomes = without_clock
        elif self._may_slot_be_torn(case) and any(damage.spoiled):
            # one slot may have been half written, and the other was spoiled
            outcomes = {Outcome.RESUMED} | without_clock
        elif case.fault is Fault.POWER_BLINK and self.kept_clock is None:
            outcomes = {Outcome.RESUMED} | without_clock
        else:
            outcomes, minutes = {Outcome.RESUMED}, ()
        return Wanted(frozenset(outcomes), minutes, tolerance_after(len(damage.resets)))

    def _may_slot_be_torn(self, case: _Case) -> bool:
        return self.clock_phases is not None and (case.cycle - self.first) % self.period in self.clock_phases

    def _watch(self, at: int, fault: Fault) -> Frames:
        """Run until enough frames came after the fault, or patience has ended, and return all frames."""
        chip, clock = self.what_if, self.what_if.clock_hz
        wait = self.start_up + 2 * self.show.frame_ms / 1000
        if fault is Fault.HANG:
            wait += WATCHDOG_SECONDS * (1 + self.plan.watchdog_error)
        parts = []
        for seconds in (wait, self.plan.patience_seconds):
            chip.run(at + round((seconds + self.plan.compared_seconds) * clock))
            parts.append(chip.take_frames())
            if (parts[-1].start_cycle > at).sum() >= self._n_wanted() * len(self.run_bytes):
                break
        return _join(parts)

    def _n_wanted(self) -> int:
        return math.ceil(self.plan.compared_seconds * 1000 / self.show.frame_ms)


def _join(parts: Sequence[Frames]) -> Frames:
    """Return frames taken one after the other as one record."""
    width = max(part.data.shape[1] for part in parts)
    return Frames(
        line=np.concatenate([part.line for part in parts]),
        start_cycle=np.concatenate([part.start_cycle for part in parts]),
        end_cycle=np.concatenate([part.end_cycle for part in parts]),
        n_bit=np.concatenate([part.n_bit for part in parts]),
        data=np.concatenate([np.pad(part.data, ((0, 0), (0, width - part.data.shape[1]))) for part in parts]),
    )
