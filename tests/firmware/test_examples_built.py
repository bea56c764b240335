"""The binaries that each compiler makes of the shipped examples send one and the same show.

The whole shows are never shortened: a chip is put to the moment by its kept clock, as after a watchdog reset.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from lampwright.chip import BitWindows, EmulatedChip, Line, ResetCause
from lampwright.firmware import (
    Compiler,
    FirmwareBuild,
    PathCompiler,
    WasiCompiler,
    WheelCompiler,
    build,
    variables_end,
    write_firmware,
)
from lampwright.layout import lay_out
from lampwright.piece import read_piece
from lampwright.rehearsal import kept_clock
from lampwright.show import CircuitShow, compile_show, frames, line_bytes

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/*.toml"))
COMPILERS: list[Callable[[], Compiler]] = [WasiCompiler, WheelCompiler, PathCompiler]
BEFORE, AFTER = 10, 50
"""Frames that are compared before and after a moment."""


def moments(show: CircuitShow) -> Iterator[int]:
    """Yield the frames around which is compared: switching on, a minute's step, standby's end, each cue, the repeat."""
    yield BEFORE
    yield 60_000 // show.frame_ms
    for cue in show.cues:
        yield show.standby_frames + cue.start
        yield show.standby_frames + cue.start + cue.fade // 2
        yield show.standby_frames + cue.start + cue.length // 2
    yield show.standby_frames + show.pass_frames


def constant(folder: Path, name: str) -> int:
    """Return a number that stands in the written clock."""
    found = re.search(rf"{name} = (\w+?)u?l?;", (folder / "clock.cpp").read_text(encoding="utf-8"))
    assert found is not None, name
    return int(found.group(1), 0)


def kept_time(number: int, mark: int) -> bytes:
    """Return a whole slot of the kept clock, by the formula of clock.cpp."""
    mixed = (number ^ mark) * 0x9E3779B1 & 0xFFFFFFFF
    mixed ^= mixed >> 16
    mixed = mixed * 0x7FEB352D & 0xFFFFFFFF
    return number.to_bytes(4, "little") + (mixed ^ mixed >> 16).to_bytes(4, "little")


def sent_from(built: FirmwareBuild, show: CircuitShow, first: int, count: int) -> np.ndarray:
    """Return the bytes (count, n_byte) that the binary sends from a frame on, all runs one after the other."""
    board, timing = show.layout.circuit.board, show.layout.circuit.strip.timing
    halves = (timing.zero_high, timing.zero_low, timing.one_high, timing.one_low)
    windows = BitWindows(*((window.least, window.most) for window in halves), latch=timing.latch)
    lines = [Line(run.port, run.bit, windows) for run in built.source.runs]
    chip = EmulatedChip(built.image, board.clock.value, lines, board.chip)
    period = built.source.pacing.period_cycles
    if first > 0:
        chip.run(3 * period)
        chip.take_frames()
        place = kept_clock(built.ram_map)
        assert place is not None
        assert place.stop <= variables_end(built.ram_map)
        folder = built.source.folder
        slot = kept_time(first - constant(folder, "lost_to_watchdog"), constant(folder, "show_mark"))
        chip.write_ram(place.start, slot + bytes(len(slot)))
        chip.reset(ResetCause.WATCHDOG)
        chip.take_frames()
    chip.run(chip.cycle + (count + 3) * period)
    sent = chip.take_frames()
    assert [chip.report(line).n_breach for line in range(len(lines))] == [0] * len(lines)
    parts = [sent.data[sent.line == n][:count, : 3 * run.n_pixel] for n, run in enumerate(built.source.runs)]
    return np.concatenate(parts, axis=1)


@pytest.mark.slow
@pytest.mark.parametrize("compiler", COMPILERS)
@pytest.mark.parametrize("example", EXAMPLES, ids=[example.stem for example in EXAMPLES])
def test_every_compilers_binary_sends_the_shipped_show(
    tmp_path: Path, example: Path, compiler: Callable[[], Compiler]
) -> None:
    for number, show in enumerate(compile_show(lay_out(read_piece(example)))):
        built = build(write_firmware(show, tmp_path / str(number)), compiler())
        for moment in moments(show):
            first = moment - BEFORE
            sent = sent_from(built, show, first, BEFORE + AFTER)
            expected = line_bytes(show, frames(show, first, BEFORE + AFTER))
            wrong = np.flatnonzero((sent != expected).any(axis=1)) + first
            assert wrong.tolist() == [], f"{show.layout.circuit.name}, from frame {first}, {built.compiler}"


def test_there_are_four_examples() -> None:
    assert [example.stem for example in EXAMPLES] == ["frost-gate", "helm-mast", "reed-curtain", "slow-procession"]
