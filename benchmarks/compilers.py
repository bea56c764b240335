"""What each compiler makes of the same sources: flash, cycles a pixel, time of a build.

Run: python benchmarks/compilers.py

Frost Gate's longest circuit is built and its frames composed on the emulated chip: from waking up at a tick
to falling asleep, less the time that sending takes, for the slowest frame. Below it stand the looks of the
library, the slowest of 40 frames of each, as look_cycles.py measures them.
"""

from __future__ import annotations

import dataclasses
import tempfile
import time
from pathlib import Path

from look_cycles import N_PIXEL, cycles, library_program

from lampwright.chip import BitWindows, EmulatedChip, Line
from lampwright.firmware import (
    Compiler,
    FirmwareBuild,
    PathCompiler,
    WasiCompiler,
    WheelCompiler,
    build,
    write_firmware,
)
from lampwright.layout import lay_out
from lampwright.piece import read_piece
from lampwright.show import CircuitShow, compile_show
from lampwright.show.compile import library_names

FROST_GATE = Path(__file__).parents[1] / "examples" / "frost-gate" / "frost-gate.toml"
N_FRAME = 20


def main() -> None:
    """Print both tables."""
    compilers: list[Compiler] = [WasiCompiler(), WheelCompiler(), PathCompiler()]
    for compiler in compilers:
        compiler.prepare()
    show = max(compile_show(lay_out(read_piece(FROST_GATE))), key=lambda show: show.n_pixel)
    scenes = scenes_of(show)
    print(f"Frost Gate, {show.n_pixel} pixels; cycles a pixel to compose the slowest frame, limiter included")
    print(f"{'':24} {'flash':>7} {'build':>8} " + " ".join(f"{name:>12}" for name in scenes))
    for compiler in compilers:
        print(frost_gate_row(compiler, show, scenes))
    print("\nlooks of the library, cycles a pixel without limiter")
    print(f"{'':24} " + " ".join(f"{compiler.name.partition(' (')[0]:>14}" for compiler in compilers))
    sums = [0] * len(compilers)
    for name in library_names():
        program = library_program(name)
        row = [round(cycles(program, compiler)[1] / N_PIXEL) for compiler in compilers]
        sums = [total + number for total, number in zip(sums, row, strict=True)]
        print(f"{name:24} " + " ".join(f"{number:14}" for number in row))
    print(f"{'all':24} " + " ".join(f"{total:14}" for total in sums))


def scenes_of(show: CircuitShow) -> dict[str, CircuitShow]:
    """Return the countdown, each look of the show alone, and a fade from the first to the second."""
    countdown = {"countdown": dataclasses.replace(show, standby_frames=2 * N_FRAME)}
    alone = {
        cue.program.look.name: dataclasses.replace(
            show, standby_frames=0, pass_frames=cue.length, cues=(dataclasses.replace(cue, start=0, fade=0),)
        )
        for cue in show.cues
    }
    first, second = show.cues[:2]
    pair = (
        dataclasses.replace(first, start=0, length=2, fade=0),
        dataclasses.replace(second, start=2, length=10 * N_FRAME, fade=10 * N_FRAME),
    )
    fade = {"a fade": dataclasses.replace(show, standby_frames=0, pass_frames=10 * N_FRAME + 2, cues=pair)}
    return countdown | alone | fade


def frost_gate_row(compiler: Compiler, show: CircuitShow, scenes: dict[str, CircuitShow]) -> str:
    """Return the row of a compiler."""
    with tempfile.TemporaryDirectory() as name:
        source = write_firmware(show, Path(name) / "whole")
        begun = time.perf_counter()
        whole = build(source, compiler)
        lasted = time.perf_counter() - begun
        numbers = [
            composing(build(write_firmware(scene, Path(name) / str(n)), compiler), scene)
            for n, scene in enumerate(scenes.values())
        ]
    row = " ".join(f"{number:12.0f}" for number in numbers)
    return f"{compiler.name:24} {whole.flash_used:7} {lasted:6.2f} s {row}"


def composing(built: FirmwareBuild, show: CircuitShow) -> float:
    """Return the cycles a pixel that composing the slowest frame takes."""
    lines = [Line(run.port, run.bit, BitWindows(*[(0.0, 1.0)] * 4, latch=1e-4)) for run in built.source.runs]
    pacing = built.source.pacing
    chip = EmulatedChip(built.image, show.layout.circuit.board.clock.value, lines)
    chip.run(N_FRAME * pacing.period_cycles)
    return (chip.longest_awake - pacing.write_cycles) / show.n_pixel


if __name__ == "__main__":
    main()
