"""Write a circuit's firmware as a folder of C++ sources."""

from __future__ import annotations

import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from lampwright.firmware.bits import BitCycles, bit_cycles_for
from lampwright.firmware.compiler import FLAGS
from lampwright.firmware.files import write_text
from lampwright.firmware.fuses import FlashCommands, Fuses, flash_commands, fuses_for
from lampwright.firmware.looks_text import write_looks
from lampwright.firmware.main_text import main_values
from lampwright.firmware.pacing import Pacing, pace
from lampwright.firmware.pins import SourceRun, place_runs
from lampwright.firmware.power_loss_text import minutes_values
from lampwright.firmware.room import check_ram, check_times
from lampwright.firmware.sender_text import sender_values
from lampwright.firmware.show_text import clock_values, cue_values, flashing_values, show_values
from lampwright.firmware.target import Target, target_of
from lampwright.firmware.templates import fill
from lampwright.look.cpp import PRELUDE
from lampwright.parts.model import Board
from lampwright.show.model import CircuitShow
from lampwright.units.errors import MakerError, Problem

SOURCES = ("main.cpp", "clock.cpp", "show.cpp")
HEADERS = ("arithmetic.h", "clock.h", "looks.h", "sender.h", "show.h")
MINUTES = ("minutes.h", "minutes.cpp")
"""Written only where the show goes on after a loss of power."""
HEX = "build/firmware.hex"


@dataclass(frozen=True)
class FirmwareSource:
    """A folder of sources, and what they were written for."""

    folder: Path
    circuit: str
    board: Board
    target: Target
    n_pixel: int
    runs: tuple[SourceRun, ...]
    bit: BitCycles
    pacing: Pacing
    fuses: Fuses
    commands: FlashCommands
    sources: tuple[str, ...] = SOURCES
    headers: tuple[str, ...] = HEADERS


def write_firmware(show: CircuitShow, folder: Path) -> FirmwareSource:
    """Write the firmware of one circuit into ``folder``, which is made when it isn't there.

    Raises
    ------
    MakerError
        FIRMWARE-001 to -006 when the board can't do it; nothing is written then. FIRMWARE-010 when
        the folder can't be written; FIRMWARE-011 for times beyond the chip's counters.
    """
    source = _plan(show, folder)
    for name, text in _texts(show, source).items():
        write_text(folder / name, text)
    return source


def refusals(shows: Iterable[CircuitShow]) -> tuple[Problem, ...]:
    """Return why no firmware can be written for these shows: for each circuit what is found first, or nothing."""
    problems: list[Problem] = []
    for show in shows:
        try:
            _plan(show, Path())
        except MakerError as error:
            problems += error.problems
    return tuple(problems)


def _plan(show: CircuitShow, folder: Path) -> FirmwareSource:
    """Return what would be written for a show, or raise what :func:`write_firmware` does before it writes."""
    circuit = show.layout.circuit
    board, timing = circuit.board, circuit.strip.timing
    check_ram(show)
    check_times(show)
    target = target_of(board, circuit.name)
    runs = place_runs(show, target)
    bit = bit_cycles_for(timing, board.clock.value, board.clock_tolerance.value, circuit.name)
    pacing = pace(show.frame_ms, show.n_pixel, bit, timing.latch, board.clock.value, target, circuit.name)
    fuses = fuses_for(board, target, circuit.name)
    return FirmwareSource(
        folder=folder,
        circuit=circuit.name,
        board=board,
        target=target,
        n_pixel=show.n_pixel,
        runs=runs,
        bit=bit,
        pacing=pacing,
        fuses=fuses,
        commands=flash_commands(target, fuses, HEX),
        sources=(*SOURCES, "minutes.cpp") if show.goes_on_until else SOURCES,
        headers=(*HEADERS, "minutes.h") if show.goes_on_until else HEADERS,
    )


def _texts(show: CircuitShow, source: FirmwareSource) -> dict[str, str]:
    """Return every file's text by its name."""
    title = f'circuit "{source.circuit}"'
    looks = write_looks(show.cues)
    texts = {
        "show.h": fill("show.h", show_values(show, source.runs)),
        "show.cpp": fill("show.cpp", cue_values(show, looks.functions)),
        "looks.h": fill("looks.h", {"tables": looks.tables, "functions": looks.text}),
        "sender.h": fill(
            "sender.h", sender_values(source.bit, source.runs, show, source.board.clock.value, source.target)
        ),
        "main.cpp": fill("main.cpp", main_values(title, show, source.runs, source.pacing, source.target, source.board)),
        "arithmetic.h": fill("arithmetic.h", {"functions": PRELUDE.rstrip()}),
        "clock.h": fill("clock.h", {}),
    }
    mark = zlib.crc32("".join(texts.values()).encode())
    texts["clock.cpp"] = fill("clock.cpp", clock_values(mark, show, source.pacing, source.board))
    if show.goes_on_until:
        values = minutes_values(mark, show, source.board)
        texts |= {name: fill(name, values) for name in MINUTES}
    texts["Makefile"] = fill("Makefile", _make_values(source))
    texts["FLASHING.md"] = fill(
        "FLASHING.md", flashing_values(title, show, source.board, source.target, source.fuses, source.commands)
    )
    return texts


def _make_values(source: FirmwareSource) -> dict[str, object]:
    flags = (f"-mmcu={source.target.compiler_name}", f"-DF_CPU={round(source.board.clock.value)}UL", *FLAGS)
    return {
        "flags": " ".join(flags),
        "sources": " ".join(source.sources),
        "headers": " ".join(source.headers),
        "part": source.commands.part,
        "read_options": source.commands.read,
        "fuse_options": source.commands.fuse,
        "flash_options": source.commands.flash,
    }
