"""Files written whole or not at all."""

from __future__ import annotations

from pathlib import Path

from lampwright.units.errors import MakerError, Problem
from lampwright.written import write_whole


def write_text(path: Path, text: str) -> None:
    """Write a text file, making its folder if needed; a reader never sees half of it.

    Raises
    ------
    MakerError
        FIRMWARE-010, the file can't be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, text)
    except OSError as error:
        raise cannot_write(path, error) from error


def cannot_write(path: Path, error: OSError) -> MakerError:
    """Return the error for a file that can't be written."""
    problem = Problem(
        "FIRMWARE-010",
        "the firmware can't be written",
        f"{path}: {error.strerror}",
        "a folder that you may write in",
        "choose another output folder, or change its permissions",
    )
    return MakerError([problem])
