"""The built firmware on an emulated chip, against the rules of the show told once more, number by number."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from lampwright.chip import BitWindows, EmulatedChip, Line, ResetCause
from lampwright.firmware import Compiler, FirmwareSource, build, write_firmware
from lampwright.piece.model import Ending
from lampwright.show.model import CircuitShow, CueProgram

ShowOf = Callable[..., CircuitShow]
Bytes = NDArray[np.uint8]


def counter(frame_ms: int) -> str:
    """Return a look whose first 200 frames are all different."""
    return f"colour = light(fraction(time / {0.2 * frame_ms:g}), 0, 0)"


class Bench:
    """One circuit's firmware on a chip."""

    def __init__(self, show: CircuitShow, folder: Path, compiler: Compiler | None = None) -> None:
        self.show = show
        self.source: FirmwareSource = write_firmware(show, folder)
        timing = show.layout.circuit.strip.timing
        halves = (timing.zero_high, timing.zero_low, timing.one_high, timing.one_low)
        windows = BitWindows(*((window.least, window.most) for window in halves), latch=timing.latch)
        lines = [Line(run.port, run.bit, windows) for run in self.source.runs]
        board = show.layout.circuit.board
        image = build(self.source, compiler).image
        self.chip = EmulatedChip(image, board.clock.value, lines, board.chip)
        self.period = self.source.pacing.period_cycles

    def ticks(self, count: float) -> None:
        """Go on for so many frame periods."""
        self.chip.run(self.chip.cycle + round(count * self.period))

    def sent(self) -> tuple[NDArray[np.int64], Bytes]:
        """Return when each frame of the first run began [cycle], and the bytes of all runs."""
        frames = self.chip.take_frames()
        parts = [
            frames.data[frames.line == number][:, : 3 * run.n_pixel] for number, run in enumerate(self.source.runs)
        ]
        n_frame = min(len(part) for part in parts)
        for number, run in enumerate(self.source.runs):
            assert set(frames.n_bit[frames.line == number][:n_frame]) == {24 * run.n_pixel}
        return frames.start_cycle[frames.line == 0][:n_frame], np.concatenate([p[:n_frame] for p in parts], axis=1)


def codes(cue: CueProgram, t: int) -> NDArray[np.int64]:
    """Return a cue's codes at its frame ``t``, (n_pixel, 3)."""
    return cue.program.frames(np.array([t]))[0].astype(np.int64)


def line_of(show: CircuitShow, k: int) -> list[int]:
    """Return the bytes of frame ``k`` by the rules of the show, one frame at a time in plain numbers."""
    pixels = np.zeros((show.n_pixel, 3), dtype=np.int64)
    if k < show.standby_frames:
        minutes = ((show.standby_frames - k) * show.frame_ms + 59999) // 60000
        if (k * show.frame_ms) % 1000 < 500:
            for pixel in show.indicator.pixels[:minutes]:
                pixels[pixel] = show.indicator.code
    else:
        pixels = frame_of_the_pass(show, *divmod(k - show.standby_frames, show.pass_frames))
    load = sum(int(code) * weight for pixel in pixels for code, weight in zip(pixel, show.limiter.weights, strict=True))
    if load > show.limiter.cap:
        pixels = pixels * (show.limiter.cap // ((load >> 8) + 1)) >> 8
    return [int(pixel[channel]) for pixel in pixels for channel in show.channel_order]


def frame_of_the_pass(show: CircuitShow, passes: int, r: int) -> NDArray[np.int64]:
    """Return the codes of frame ``r`` of a pass, fade included, limiter not."""
    dark = np.zeros((show.n_pixel, 3), dtype=np.int64)
    if passes > 0 and show.ending is Ending.DARK:
        return dark
    if passes > 0 and show.ending is Ending.HOLD:
        passes, r = 0, show.pass_frames - 1
    index = max(i for i, cue in enumerate(show.cues) if cue.start <= r)
    cue, before = show.cues[index], show.cues[index - 1]
    t = r - cue.start
    new = codes(cue, t)
    if t >= cue.fade:
        return new
    old = dark if index == 0 and passes == 0 else codes(before, before.length + t)
    return old + ((new - old) * (t * 256 // cue.fade) >> 8)


def assert_frames(sent: Bytes, show: CircuitShow, numbers: Sequence[int]) -> None:
    for k, row in zip(numbers, sent, strict=True):
        assert row.tolist() == line_of(show, k), f"frame {k}"


@pytest.mark.parametrize("ending", list(Ending))
@pytest.mark.parametrize("cap", [1 << 31, 9_000_000], ids=["unlimited", "limited"])
def test_every_frame_of_standby_and_three_passes_is_the_shows(
    show_of: ShowOf, tmp_path: Path, ending: Ending, cap: int
) -> None:
    bench = Bench(show_of((20, 7), ending=ending, cap=cap), tmp_path)
    bench.ticks(341)
    _, sent = bench.sent()
    assert_frames(sent, bench.show, range(340))
    scales = [line_of(bench.show, k) != line_of(show_of((20, 7), ending=ending), k) for k in range(40, 140)]
    assert any(scales) == (cap < 1 << 31)


def test_the_countdown_loses_a_pixel_each_minute_and_flashes_once_a_second(show_of: ShowOf, tmp_path: Path) -> None:
    # 100 ms a frame; 2 min 10 s: three pixels for 10 s, then two, then one
    bench = Bench(show_of((20,), standby_frames=1300, frame_ms=100), tmp_path)
    bench.ticks(1301)
    _, sent = bench.sent()
    lit = (sent.reshape(1300, 20, 3) > 0).any(axis=2)
    is_on = np.arange(1300) % 10 < 5
    assert not lit[~is_on].any()
    counted = lit[is_on].sum(axis=1).tolist()
    assert counted == [3] * 50 + [2] * 300 + [1] * 300
    assert np.flatnonzero(lit.any(axis=0)).tolist() == [0, 3, 6]


def test_a_long_frame_with_many_pixels_is_weighed_without_overflow(show_of: ShowOf, tmp_path: Path) -> None:
    # 538 pixels of full white: more than the 255 whose sums fit 16 bits, and the most that RAM allows
    white = (("colour = light(1, 1, 1)", 20, 0),)
    bench = Bench(show_of((538,), cues=white, standby_frames=0, cap=200_000_000), tmp_path)
    bench.ticks(4)
    _, sent = bench.sent()
    assert_frames(sent, bench.show, range(3))
    # 255 * 538 * (2000 + 1900 + 1800) = 781,983,000; cap // ((that >> 8) + 1) = 65; 255 * 65 >> 8 = 64
    assert set(sent.ravel().tolist()) == {64}


def test_frame_k_goes_out_at_tick_k_plus_1_to_the_cycle(show_of: ShowOf, tmp_path: Path) -> None:
    bench = Bench(show_of((20, 7)), tmp_path)
    bench.ticks(200)
    starts, _ = bench.sent()
    assert set(np.diff(starts).tolist()) == {bench.period}
    # start-up code and the wake-up from sleep are all that comes before
    assert bench.period < starts[0] < bench.period + 16_000


@pytest.mark.parametrize(
    ("strip", "clock", "pins", "cycles"),
    [
        ("ws2812b-60", 16e6, ("PD6", "PD5"), (6, 14, 13, 7)),
        ("ws2812b-60", 20e6, ("PB0", "PC5"), (8, 17, 16, 9)),
        ("ws2812b-60", 12e6, ("PC0", "PB5"), (5, 10, 10, 5)),
        ("sk6812-60", 16e6, ("PD2", "PD7"), (5, 14, 10, 9)),
    ],
)
def test_every_bit_on_the_pin_lasts_its_cycles(
    show_of: ShowOf,
    tmp_path: Path,
    strip: str,
    clock: float,
    pins: tuple[str, str],
    cycles: tuple[int, int, int, int],
) -> None:
    bench = Bench(show_of((20, 7), strip=strip, clock=clock, pins=pins, supply=5.0), tmp_path)
    bench.ticks(100)
    bench.sent()
    expected = dict(zip(("zero high", "zero low", "one high", "one low"), cycles, strict=True))
    for line in (0, 1):
        report = bench.chip.report(line)
        assert (report.shortest, report.longest, report.n_breach) == (expected, expected, 0)


def test_a_look_too_slow_for_the_rate_leaves_out_frames_but_keeps_time(show_of: ShowOf, tmp_path: Path) -> None:
    bumps = " * ".join(f"noise(along * {4 + n}, time * {2 + n})" for n in range(4))
    slow = f"glow = {bumps}\ncolour = light(glow, glow * glow, 1)"
    bench = Bench(show_of((150,), cues=((slow, 500, 0),), standby_frames=0, frame_ms=7), tmp_path)
    bench.ticks(200)
    starts, sent = bench.sent()
    ticks = np.round((starts - starts[0] % bench.period) / bench.period).astype(int)
    assert np.abs(starts - starts[0] - (ticks - ticks[0]) * bench.period).max() < 100
    assert np.diff(ticks).min() > 1
    # what goes out at a tick was begun right after the send before it
    numbers = [0, *ticks[:-1].tolist()]
    assert_frames(sent, bench.show, numbers)
    assert bench.chip.report(0).shortest_latch > 300e-6 * 16e6


@pytest.mark.parametrize("phase", [0.02, 0.1, 0.5, 0.99], ids=["sending", "composing", "asleep", "before the tick"])
@pytest.mark.parametrize("frame_ms", [10, 25, 40])
def test_after_a_hang_the_show_goes_on_at_the_right_place(
    show_of: ShowOf, tmp_path: Path, phase: float, frame_ms: int
) -> None:
    look = ((counter(frame_ms), 500, 0),)
    bench = Bench(show_of((20, 20), cues=look, standby_frames=20, frame_ms=frame_ms), tmp_path)
    bench.ticks(60 + phase)
    starts, _ = bench.sent()
    first = starts[0]
    bench.chip.hang()
    bench.ticks(30 + 400 / frame_ms)
    frames = bench.chip.take_frames()
    resumed = frames.start_cycle > first + 62 * bench.period
    at, row = frames.start_cycle[resumed][0], frames.data[resumed][0, :60]
    number = next(k for k in range(200) if line_of(bench.show, k)[:60] == row.tolist())
    assert abs(at - first - number * bench.period) <= bench.period
    late = frames.start_cycle[resumed & (frames.line == 0)]
    assert set(np.diff(late).tolist()) == {bench.period}


@pytest.mark.parametrize("cause", [ResetCause.POWER_ON, ResetCause.EXTERNAL])
def test_power_on_and_the_reset_button_start_a_new_countdown(
    show_of: ShowOf, tmp_path: Path, cause: ResetCause
) -> None:
    bench = Bench(show_of((20,), cues=((counter(25), 200, 0),), standby_frames=40), tmp_path)
    bench.ticks(100.5)
    bench.sent()
    bench.chip.reset(cause)
    bench.ticks(60)
    _, sent = bench.sent()
    assert_frames(sent[-55:], bench.show, range(len(sent) - 55, len(sent)))


@pytest.mark.parametrize("first_offset", [0, 60, 120, 180])
def test_a_dip_of_the_supply_at_any_moment_resumes_the_show(show_of: ShowOf, tmp_path: Path, first_offset: int) -> None:
    show = show_of((20,), cues=((counter(25), 200, 0),), standby_frames=0)
    rows = {tuple(line_of(show, k)): k for k in range(200)}
    bench = Bench(show, tmp_path)
    bench.ticks(5)
    # every third cycle from the end of a send on: feeding the watchdog and writing a slot of the kept clock
    for offset in range(first_offset, first_offset + 60, 3):
        bench.ticks(2)
        starts, sent = bench.sent()
        composing = rows[tuple(sent[-1].tolist())] + 2
        bench.chip.run(int(starts[-1]) + bench.period + 20 * 480 + offset)
        bench.chip.reset(ResetCause.BROWN_OUT)
        bench.ticks(1.5)
        _, after = bench.sent()
        resumed = rows[tuple(after[-1].tolist())]
        # the frame whose number was being written is lost or not, and one is added for the dip or not
        assert composing - 1 <= resumed <= composing + 1, offset
