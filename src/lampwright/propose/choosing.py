"""To choose a candidate is to write its piece file, where there is none yet."""

from __future__ import annotations

import re
from pathlib import Path

from lampwright.propose.finalist import Candidate
from lampwright.units import MakerError, Problem
from lampwright.written import write_whole


def piece_file_name(name: str) -> str:
    """Return a name for the piece file of a piece of this name."""
    return f"{re.sub('[^a-z0-9]+', '-', name.lower()).strip('-') or 'piece'}.toml"


def free_path(folder: Path, name: str) -> Path:
    """Return the first path in a folder that no file has: the name itself, or with a number behind."""
    stem, number = Path(name).stem, 1
    path = folder / name
    while path.exists():
        number += 1
        path = folder / f"{stem}-{number}.toml"
    return path


def write_candidate(candidate: Candidate, path: Path, do: str) -> None:
    """Write a candidate's piece file; ``do`` says what to do where there is one already.

    Raises
    ------
    MakerError
        PROPOSE-003, there is already such a file.
    OSError
        The file can't be written.
    """
    if path.exists():
        summary = "there is already such a file; it was left as it is"
        raise MakerError([Problem("PROPOSE-003", summary, str(path), "a file that is not there yet", do)])
    write_whole(path, candidate.text)
