"""What names the firmware that belongs to a book: the hash of what is flashed, else of what it would be built from."""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Iterable
from pathlib import Path

from lampwright.book.bound.contents import FirmwareIdentity
from lampwright.firmware import write_firmware
from lampwright.signoff import Progress, Report, make_firmware
from lampwright.units import MakerError

NO_COMPILER = "FIRMWARE-009"


def identities(report: Report, folder: Path, progress: Progress) -> tuple[FirmwareIdentity, ...]:
    """Return the identity of each circuit's firmware; it is built into ``folder``, each circuit into its own.

    Raises
    ------
    MakerError
        FIRMWARE codes, but for a missing compiler: then the sources are named instead.
    """
    try:
        made = make_firmware(report, folder, progress)
    except MakerError as error:
        if any(problem.code != NO_COMPILER for problem in error.problems):
            raise
        return tuple(_of_sources(report))
    return tuple(
        FirmwareIdentity(
            built.source.circuit,
            built.sha256,
            f"SHA-256 of {built.source.folder.name}/{built.hex_file.relative_to(built.source.folder).as_posix()}, "
            f"built by {built.compiler}",
            f"flash {built.flash_used} of {built.flash_there} bytes, RAM {built.ram_used} of {built.ram_there} bytes",
        )
        for built in made.builds
    )


def _of_sources(report: Report) -> Iterable[FirmwareIdentity]:
    for show in report.shows:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            write_firmware(show, folder)
            digest = hashlib.sha256()
            for file in sorted(folder.iterdir()):
                if file.suffix != ".md":  # how to flash it, which names the folder
                    digest.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
        what = "SHA-256 of the sources, name and text one after the other: no compiler was there to build them"
        yield FirmwareIdentity(show.layout.circuit.name, digest.hexdigest(), what, "not built")
