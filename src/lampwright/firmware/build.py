"""Build written sources into the file that is flashed."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from lampwright.firmware.compiler import FLAGS, Compiler, ToolRun
from lampwright.firmware.compiler_choice import find_compiler
from lampwright.firmware.files import cannot_write, write_text
from lampwright.firmware.fuses import Fuses
from lampwright.firmware.image import RamSymbol, flash_image, ram_bytes, ram_map
from lampwright.firmware.record import record_text
from lampwright.firmware.room import too_small
from lampwright.firmware.write import FirmwareSource
from lampwright.show.memory import BYTES_PER_PIXEL
from lampwright.units.errors import MakerError, Problem


@dataclass(frozen=True)
class FirmwareBuild:
    """A built firmware. ``image`` is the flash from address 0, as the .hex file sets it."""

    source: FirmwareSource
    compiler: str
    elf: Path
    hex_file: Path
    record: Path
    """Text with sizes, RAM map and the .hex file's hash."""
    image: bytes
    sha256: str
    """Of the .hex file: names what was rehearsed and what is flashed."""
    flash_used: int  # [byte]
    flash_there: int  # [byte]
    ram_used: int  # by variables, the stack not counted [byte]
    ram_there: int  # [byte]
    ram_map: tuple[RamSymbol, ...]
    fuses: Fuses
    commands: Mapping[str, str]
    """Whole avrdude commands by step: "read", "fuse", "flash", "verify"; run in the source folder."""
    messages: str
    """What the compiler said; empty unless changed sources made it warn."""


def build(source: FirmwareSource, compiler: Compiler | None = None) -> FirmwareBuild:
    """Compile the sources as they stand in their folder; two builds give the same bytes.

    Parameters
    ----------
    compiler
        The one of :func:`find_compiler` when left out.

    Raises
    ------
    MakerError
        FIRMWARE-007 when the program is larger than the flash, FIRMWARE-001 when changed sources take
        too much RAM, FIRMWARE-008 when they don't compile, FIRMWARE-009 without a compiler.
    """
    tools = compiler or find_compiler()
    folder = source.folder / "build"
    _make_folder(folder)
    part_elf, part_hex = folder / "part.elf", folder / "part.hex"
    try:
        messages = _compile(source, tools)
        built = _weigh(source, tools, part_elf, part_hex, messages)
        _check_room(built)
        part_elf.replace(built.elf)
        part_hex.replace(built.hex_file)
        write_text(built.record, _record(built))
    finally:
        part_elf.unlink(missing_ok=True)
        part_hex.unlink(missing_ok=True)
    return built


def _compile(source: FirmwareSource, tools: Compiler) -> str:
    """Make ``build/part.elf`` and ``build/part.hex``; return what the compiler said."""
    flags = (f"-mmcu={source.target.compiler_name}", f"-DF_CPU={round(source.board.clock.value)}UL", *FLAGS)
    compiled = tools.compile([*flags, *source.sources, "-o", "build/part.elf"], source.folder)
    if not compiled.is_done:
        raise MakerError([_not_compiled(source, compiled)])
    converted = tools.to_hex("build/part.elf", "build/part.hex", source.folder)
    if not converted.is_done:
        raise MakerError([_not_compiled(source, converted)])
    return compiled.text


def _weigh(source: FirmwareSource, tools: Compiler, elf: Path, hex_file: Path, messages: str) -> FirmwareBuild:
    """Return the record of a build whose files will be moved to their place."""
    image = flash_image(hex_file)
    folder = source.folder / "build"
    return FirmwareBuild(
        source=source,
        compiler=tools.name,
        elf=folder / "firmware.elf",
        hex_file=folder / "firmware.hex",
        record=folder / "firmware.txt",
        image=image,
        sha256=hashlib.sha256(hex_file.read_bytes()).hexdigest(),
        flash_used=len(image),
        flash_there=round(source.board.flash.value),
        ram_used=ram_bytes(elf),
        ram_there=round(source.board.ram.value),
        ram_map=ram_map(elf),
        fuses=source.fuses,
        commands=source.commands.spoken(),
        messages=messages,
    )


def _record(built: FirmwareBuild) -> str:
    flash, ram = (built.flash_used, built.flash_there), (built.ram_used, built.ram_there)
    return record_text(built.source.circuit, built.compiler, built.sha256, flash, ram, built.ram_map)


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise cannot_write(folder, error) from error


def _not_compiled(source: FirmwareSource, run: ToolRun) -> Problem:
    """Return the problem with the compiler's first complaint."""
    if "region `text'" in run.text:  # a linker that knows the chip's flash
        return _flash_too_small(source, "more than the chip has", round(source.board.flash.value))
    lines = run.text.splitlines() or ["no message"]
    first = next((line for line in lines if "error" in line or "undefined" in line), lines[0])
    return Problem(
        "FIRMWARE-008",
        f'the sources of circuit "{source.circuit}" don\'t compile',
        first,
        "sources as they were written, or changed so that they compile",
        f"put it right in {source.folder}, or write the sources anew",
    )


def _flash_too_small(source: FirmwareSource, found: str, there: int) -> Problem:
    return Problem(
        "FIRMWARE-007",
        f"the firmware of circuit \"{source.circuit}\" doesn't fit its chip's flash",
        found,
        f'{there} bytes on board "{source.board.name}"',
        "use fewer different looks, or the same settings in more of the cues",
    )


def _check_room(built: FirmwareBuild) -> None:
    source = built.source
    problems = []
    if built.flash_used > built.flash_there:
        problems.append(_flash_too_small(source, f"{built.flash_used} bytes", built.flash_there))
    if built.ram_used + round(source.board.stack_reserve.value) > built.ram_there:
        variables = built.ram_used - BYTES_PER_PIXEL * source.n_pixel
        problems.append(too_small(source.circuit, source.board, source.n_pixel, variables))
    if problems:
        raise MakerError(problems)
