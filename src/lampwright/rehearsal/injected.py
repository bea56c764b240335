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

from lampwright.chip import BenchStoppedError, EmulatedChip, Frames, ResetCause
from lampwright.chip.state import RAM_END, RAM_START
from lampwright.rehearsal.faults import (
    LAG_TOLERANCE_FRAMES,
    SPOILS_CLOCK,
    STARTS_ANEW,
    Fault,
    FaultPlan,
    FaultReport,
    InjectedFault,
    Moment,
    Outcome,
    make_report,
)
from lampwright.rehearsal.run import Part, ProgressReport
from lampwright.rehearsal.stage import listening_lines
from lampwright.show import CircuitShow, line_bytes, render

SEARCH_FRAMES = 100
"""How far from its true place a show that went astray is looked for."""

WATCHDOG_SECONDS = 0.256
"""Nominal time-out that the firmware sets (ATmega328P datasheet: 32K periods of 128 kHz). [s]"""

EARLIEST_FRAME = 3
"""By then both slots of the kept clock have been written."""

JITTER_CYCLES = 1000
"""A frame begins within so many cycles of its time. [cycle]"""

CLOCK_SEARCH_CYCLES, CLOCK_QUIET_CYCLES, CLOCK_MARGIN_CYCLES = 3000, 100, 12
"""The keeping of the clock is looked for so long after a line write; it has ended when nothing changed
for so long; faults fall so far around it. [cycle]"""

LOST_BYTES = (0.0, 0.01, 0.3)
"""Share of RAM that a short loss of power spoils, one of these."""


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


class _MeantFrames:
    """What the lines should carry, drawn in blocks and kept while needed."""

    SIZE, N_KEPT = 500, 4

    def __init__(self, show: CircuitShow) -> None:
        self._show = show
        self._blocks: dict[int, tuple[NDArray[np.uint8], list[int]]] = {}

    def _block(self, number: int) -> tuple[NDArray[np.uint8], list[int]]:
        index = number // self.SIZE
        if index not in self._blocks:
            while len(self._blocks) >= self.N_KEPT:
                # faults come by rising time; the first frames are wanted after every new countdown
                del self._blocks[min((kept for kept in self._blocks if kept), default=0)]
            sent = line_bytes(self._show, render(self._show, index * self.SIZE, self.SIZE).codes)
            self._blocks[index] = sent, [hash(row.tobytes()) for row in sent]
        return self._blocks[index]

    def frame(self, number: int) -> NDArray[np.uint8]:
        """Return the bytes of one frame."""
        sent, _ = self._block(number)
        row: NDArray[np.uint8] = sent[number % self.SIZE]
        return row

    def mark(self, number: int) -> int:
        """Return a hash of one frame's bytes; of frames that don't exist, none that matches."""
        return self._block(number)[1][number % self.SIZE] if number >= 0 else -1


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
        self.run_starts = [3 * run.first for run in part.show.layout.runs]
        self.n_sent = np.zeros(len(self.run_bytes), np.int64)
        self.meant = _MeantFrames(part.show)
        self.left_out: list[str] = []
        self.first, self.write_cycles = self._first_frame()
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
        self.left_out += [f"faults {moment.value}" for moment in Moment if moment not in moments]
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
        at = chip.cycle
        breaches = self._breaches()
        spoiled = self._suffer(case.fault)
        try:
            frames = self._watch(at, case.fault)
        except BenchStoppedError as error:
            return InjectedFault(
                case.fault, case.moment, at, Outcome.STOPPED, False, None, 0, 0, False, 0, error.reason
            )
        n_wrong, is_cut = self._broken_off(frames, at)
        starts, ends, marks = self._whole_frames(frames, at)
        is_new = case.fault in STARTS_ANEW or (any(spoiled[: len(spoiled) // 2]) and any(spoiled[len(spoiled) // 2 :]))
        outcome, lag, n_more = self._place(starts, marks, is_new)
        n_breach = max(0, self._breaches() - breaches - (1 if is_cut else 0))
        is_right = self._is_right(case, at, outcome, is_new)
        return InjectedFault(
            fault=case.fault,
            moment=case.moment,
            cycle=at,
            outcome=outcome,
            is_as_wanted=is_right and n_wrong + n_more + n_breach == 0,
            silence=(int(ends[0]) - at) / chip.clock_hz if len(ends) else None,
            lag_frames=lag,
            n_wrong=n_wrong + n_more,
            is_cut=is_cut,
            n_breach=n_breach,
            spoiled=spoiled,
        )

    def _breaches(self) -> int:
        return sum(self.what_if.report(index).n_breach for index in range(len(self.run_bytes)))

    def _is_right(self, case: _Case, at: int, outcome: Outcome, is_new: bool) -> bool:
        if is_new:
            return outcome is Outcome.STARTED_ANEW
        if outcome is Outcome.STARTED_ANEW and case.fault in SPOILS_CLOCK and self.clock_phases is not None:
            # one slot was being written and the other was spoiled: there is no time to go on with
            return (at - self.first) % self.period in self.clock_phases
        return outcome is Outcome.RESUMED

    def _suffer(self, fault: Fault) -> bytes:
        """Do to the chip what the fault does; return which bits of the kept clock were turned over, if any."""
        chip = self.what_if
        if fault is Fault.HANG:
            chip.hang()
        elif fault is Fault.RESET_BUTTON:
            chip.reset(ResetCause.EXTERNAL)
        elif fault is Fault.POWER_LOSS:
            chip.reset(ResetCause.POWER_ON)
        elif fault is Fault.POWER_BLINK:
            n_ram = RAM_END + 1 - RAM_START
            kept = np.frombuffer(chip.read_ram(RAM_START, n_ram), np.uint8)
            chip.reset(ResetCause.POWER_ON)
            noise = np.frombuffer(chip.read_ram(RAM_START, n_ram), np.uint8)
            is_lost = self.dice.random(n_ram) < self.dice.choice(LOST_BYTES)
            chip.write_ram(RAM_START, np.where(is_lost, noise, kept).tobytes())
        else:
            spoiled = self._spoil(fault)
            chip.reset(ResetCause.BROWN_OUT)
            return spoiled
        return b""

    def _spoil(self, fault: Fault) -> bytes:
        """Change bytes of the kept clock; return which bits of it were turned over."""
        if fault not in SPOILS_CLOCK or self.kept_clock is None:
            return b""
        size = len(self.kept_clock)
        where = np.arange(size)
        if fault is Fault.ONE_SLOT:
            where = where[: size // 2] + int(self.dice.integers(2)) * (size // 2)
        elif fault is Fault.SOME_BYTES:
            where = self.dice.choice(where, int(self.dice.integers(1, 5)), replace=False)
        turned = np.zeros(size, np.uint8)
        turned[where] = self.dice.integers(1, 256, len(where), dtype=np.uint8)
        data = np.frombuffer(self.what_if.read_ram(self.kept_clock.start, size), np.uint8)
        self.what_if.write_ram(self.kept_clock.start, (data ^ turned).tobytes())
        return turned.tobytes()

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

    # what came of it ---------------------------------------------------------------------------

    def _number_at(self, cycle: int) -> int:
        """Return the frame that should be on the lines at a cycle."""
        return (cycle - self.first + JITTER_CYCLES) // self.period

    def _broken_off(self, frames: Frames, at: int) -> tuple[int, bool]:
        """Look at what was on the lines at the fault; return how many frames are wrong, and whether one was cut."""
        n_wrong, is_cut = 0, False
        n_sent = self.n_sent.copy()
        for index in np.flatnonzero(frames.start_cycle <= at):
            line, n_bit = int(frames.line[index]), int(frames.n_bit[index])
            n_sent[line] += 1
            n_byte = self.run_bytes[line]
            # a bit that was high at the fault may have become another one
            if n_bit < 8 * n_byte or frames.end_cycle[index] >= at:
                is_cut, n_byte = True, max(0, n_bit - 1) // 8
            start = self.run_starts[line]
            meant = self.meant.frame(self._number_at(int(frames.start_cycle[index])))[start : start + n_byte]
            n_wrong += not np.array_equal(frames.data[index, :n_byte], meant)
        return n_wrong, is_cut or len(set(n_sent.tolist())) > 1

    def _whole_frames(self, frames: Frames, at: int) -> tuple[NDArray[np.int64], NDArray[np.int64], list[int | None]]:
        """Return begin and end [cycle] of each frame after the fault, and a hash of its bytes."""
        by_run = [
            np.flatnonzero((frames.line == line) & (frames.start_cycle > at)) for line in range(len(self.run_bytes))
        ]
        count = min(self._n_wanted(), *(len(found) for found in by_run)) if by_run else 0
        sent = np.zeros((count, 3 * self.show.n_pixel), np.uint8)
        is_whole = np.ones(count, dtype=bool)
        ends = np.zeros(count, np.int64)
        for found, start, n_byte in zip(by_run, self.run_starts, self.run_bytes, strict=True):
            rows = found[:count]
            width = min(n_byte, frames.data.shape[1])
            sent[:, start : start + width] = frames.data[rows, :width]
            is_whole &= frames.n_bit[rows] == 8 * n_byte
            ends = np.maximum(ends, frames.end_cycle[rows])
        marks = [hash(row.tobytes()) if whole else None for row, whole in zip(sent, is_whole, strict=True)]
        return frames.start_cycle[by_run[0][:count]], ends, marks

    def _place(self, starts: NDArray[np.int64], marks: Sequence[int | None], is_new: bool) -> tuple[Outcome, int, int]:
        """Return where in the show the frames after the fault are, their lag, and how many are wrong."""
        if not len(starts):
            return Outcome.SILENT, 0, 0
        true = self._number_at(int(starts[0]))
        later = np.rint((starts - starts[0]) / self.period).astype(np.int64).tolist()

        def n_wrong(number: int) -> int:
            return sum(self.meant.mark(number + more) != mark for more, mark in zip(later, marks, strict=True))

        near = sorted(range(-LAG_TOLERANCE_FRAMES, LAG_TOLERANCE_FRAMES + 1), key=abs)
        if is_new and n_wrong(0) == 0:
            return Outcome.STARTED_ANEW, 0, 0
        for lag in near:
            if n_wrong(true - lag) == 0:
                return Outcome.RESUMED, lag, 0
        if n_wrong(0) == 0:
            return Outcome.STARTED_ANEW, 0, 0
        for lag in sorted(range(-SEARCH_FRAMES, SEARCH_FRAMES + 1), key=abs):
            if n_wrong(true - lag) == 0:
                return Outcome.ELSEWHERE, lag, 0
        return Outcome.WRONG_FRAMES, 0, min(n_wrong(number) for number in (0, *(true - lag for lag in near)))


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
