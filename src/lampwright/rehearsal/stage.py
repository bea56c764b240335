"""Runs one circuit's firmware on a bench and watches its data lines."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lampwright.chip.bench import Bench, BenchStoppedError, BitWindows, Frames, Line, LineReport
from lampwright.parts.model import LineTiming, Window
from lampwright.power.draw import idle_current, light_currents
from lampwright.rehearsal.compare import (
    BITS_PER_PIXEL,
    FrameAssembler,
    Mismatch,
    SentFrames,
    first_mismatch,
    matching_frames,
    to_codes,
)
from lampwright.rehearsal.indicator import IndicatorWatch
from lampwright.rehearsal.model import CircuitRehearsal, Plan, Resume
from lampwright.rehearsal.thinning import Thinning
from lampwright.show import CircuitShow, render

CHUNK_FRAMES = 1000
RESUME_REACH_FRAMES = 100
"""How far from its true time the first frame after a reset is looked for."""

Progress = Callable[[int], None]
"""Called with the number of frames just compared."""


def listening_lines(show: CircuitShow) -> tuple[Line, ...]:
    """Return the data lines of a circuit with the windows of its strip."""
    windows = _bit_windows(show.layout.circuit.strip.timing)
    return tuple(Line(run.run.pin[1], int(run.run.pin[2:]), windows) for run in show.layout.runs)


def _bit_windows(timing: LineTiming) -> BitWindows:
    def span(window: Window) -> tuple[float, float]:
        return window.least, window.most

    return BitWindows(
        span(timing.zero_high), span(timing.zero_low), span(timing.one_high), span(timing.one_low), timing.latch
    )


def total_frames(show: CircuitShow, plan: Plan) -> int:
    """Return how many frames from power-on the plan compares."""
    wanted = round(plan.show_seconds * 1000 / show.frame_ms)
    return show.standby_frames + max(1, wanted)


@dataclass(frozen=True)
class Undisturbed:
    """What the chip went through before it was hung on purpose."""

    seconds: float = 0.0
    watchdog_resets: int | None = None
    most_eeprom_writes: int | None = None


class Stage:
    """One rehearsal of one circuit on a bench."""

    def __init__(self, show: CircuitShow, bench: Bench, plan: Plan, progress: Progress) -> None:
        self.show, self.bench, self.plan, self.progress = show, bench, plan, progress
        self.period = round(bench.clock_hz * show.frame_ms / 1000)
        self.assembler = FrameAssembler(show)
        self.n_frame = total_frames(show, plan)
        self.mismatch: Mismatch | None = None
        self.indicator = IndicatorWatch(show, bench.clock_hz)
        self.starts: list[np.ndarray] = []
        self.lines: dict[str, LineReport] = {}
        self.busiest: int | None = None
        self.undisturbed = Undisturbed()
        self.peak_current = 0.0
        self.thinning = Thinning(show, self.n_frame)
        self._idle = idle_current(show.layout)

    def rehearse(self) -> CircuitRehearsal:
        """Run standby and show, then the injected reset, and return what was seen."""
        stopped: str | None = None
        resume: Resume | None = None
        try:
            try:
                self._run_show()
            finally:
                # before the hang: it breaks off a bit on purpose
                self.lines = self._reports()
                self.busiest = self.bench.longest_awake
                self.undisturbed = self._look_at_chip()
            if self.plan.is_reset_injected and self.mismatch is None:
                resume = self._run_reset()
        except BenchStoppedError as error:
            stopped = str(error)
        return self._summary(stopped, resume)

    def _look_at_chip(self) -> Undisturbed:
        writes = self.bench.eeprom_writes
        most = max(writes, default=0) if writes is not None else None
        return Undisturbed(self.bench.cycle / self.bench.clock_hz, self.bench.watchdog_resets, most)

    def _reports(self) -> dict[str, LineReport]:
        return {run.run.name: self.bench.report(index) for index, run in enumerate(self.show.layout.runs)}

    def _run_show(self) -> None:
        done = 0
        while done < self.n_frame and self.mismatch is None:
            upto = min(self.n_frame, done + CHUNK_FRAMES)
            # frame k begins at tick k + 1 and is decoded once its latch has passed
            self.bench.run(max((upto + 1) * self.period, self.bench.cycle + self.period))
            self.assembler.add(self.bench.take_frames())
            sent = self.assembler.take()
            if len(sent.start_cycle) == 0:
                raise BenchStoppedError("the data line stays silent", 0, self.bench.cycle)
            self._watch(sent)
            done += len(sent.start_cycle)
            self.progress(len(sent.start_cycle))

    def _watch(self, sent: SentFrames) -> None:
        block = render(self.show, sent.first, len(sent.start_cycle))
        self.mismatch = first_mismatch(self.show, sent, block.codes)
        codes = to_codes(self.show, sent.sent_bytes)
        self.indicator.add(sent, codes)
        self.starts.append(sent.start_cycle)
        current = self._idle + light_currents(self.show.layout, codes)
        self.peak_current = max(self.peak_current, float(current.max()))
        self.thinning.add(sent.first, codes)

    def _run_reset(self) -> Resume:
        """Hang the core in the middle of a line write and see the show go on after the watchdog."""
        bench, period = self.bench, self.period
        first = int(self.starts[0][0])
        running = (bench.cycle - first) // period + 2
        bench.run(first + running * period + (self._write_cycles() // 3))
        bench.take_frames()
        hung_at = bench.cycle
        bench.hang()
        self.assembler.restart(0)
        sent = self._frames_after(hung_at)
        dark_time = (int(sent.start_cycle[0]) - hung_at) / bench.clock_hz
        true_frame = round((int(sent.start_cycle[0]) - first) / period)
        found = next(iter(matching_frames(self.show, sent.sent_bytes[0], true_frame, RESUME_REACH_FRAMES)), None)
        if found is None:
            return Resume(hung_at / bench.clock_hz, dark_time, 0, False, 0, None)
        self.assembler.restart(found + len(sent.start_cycle))
        mismatch, count = self._compare_from(found, sent)
        return Resume(hung_at / bench.clock_hz, dark_time, true_frame - found, True, count, mismatch)

    def _frames_after(self, cycle: int) -> SentFrames:
        """Return the first whole frames that begin after ``cycle``, waiting up to ten seconds."""
        for step in range(1, 41):
            self.bench.run(cycle + round(step * 0.25 * self.bench.clock_hz))
            frames = self.bench.take_frames()
            self.assembler.add(_later(frames, cycle))
            sent = self.assembler.take()
            if len(sent.start_cycle):
                return sent
        raise BenchStoppedError("no frame for ten seconds after the watchdog should have acted", 0, self.bench.cycle)

    def _compare_from(self, found: int, sent: SentFrames) -> tuple[Mismatch | None, int]:
        sent = SentFrames(found, sent.start_cycle, sent.end_cycle, sent.sent_bytes, sent.whole)
        goal = round(self.plan.after_reset_seconds * 1000 / self.show.frame_ms)
        count = 0
        while True:
            n_sent = len(sent.start_cycle)
            mismatch = first_mismatch(self.show, sent, render(self.show, sent.first, n_sent).codes) if n_sent else None
            count += n_sent
            if mismatch is not None or count >= goal:
                return mismatch, count
            self.bench.run(self.bench.cycle + 100 * self.period)
            self.assembler.add(self.bench.take_frames())
            sent = self.assembler.take()

    def _write_cycles(self) -> int:
        bit = self.show.layout.circuit.strip.timing
        return round(
            self.show.n_pixel * BITS_PER_PIXEL * (bit.one_high.typical + bit.one_low.typical) * self.bench.clock_hz
        )

    def _summary(self, stopped: str | None, resume: Resume | None) -> CircuitRehearsal:
        clock = self.bench.clock_hz
        starts = np.concatenate(self.starts) if self.starts else np.zeros(0, dtype=np.int64)
        gaps = np.diff(starts) if len(starts) > 1 else np.zeros(1, dtype=np.int64)
        standby = self.show.standby_frames
        return CircuitRehearsal(
            name=self.show.layout.circuit.name,
            n_pixel=self.show.n_pixel,
            n_frame=len(starts),
            n_bit=len(starts) * self.show.n_pixel * BITS_PER_PIXEL,
            simulated_seconds=self.bench.cycle / clock,
            first_frame_seconds=float(starts[0]) / clock if len(starts) else 0.0,
            show_start_seconds=float(starts[standby]) / clock if len(starts) > standby else None,
            shortest_interval=float(gaps.min()) / clock,
            longest_interval=float(gaps.max()) / clock,
            busiest_seconds=None if self.busiest is None else self.busiest / clock,
            mismatch=self.mismatch,
            minutes=self.indicator.minutes(),
            flashes_per_minute=self.indicator.flashes(),
            lines=self.lines or self._reports(),
            peak_current=self.peak_current,
            resume=resume,
            stopped=stopped,
            thinned=self.thinning.result(),
            watchdog_resets=self.undisturbed.watchdog_resets,
            most_eeprom_writes=self.undisturbed.most_eeprom_writes,
            undisturbed_seconds=self.undisturbed.seconds,
        )


def _later(frames: Frames, cycle: int) -> Frames:
    """Return only the frames that began after ``cycle``."""
    keep = frames.start_cycle > cycle
    return Frames(
        frames.line[keep], frames.start_cycle[keep], frames.end_cycle[keep], frames.n_bit[keep], frames.data[keep]
    )
