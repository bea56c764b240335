"""Begin a new piece file from a small, valid example."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from pydantic_core import PydanticCustomError

from lampwright.piece.fields import Text, faults_of
from lampwright.units import MakerError, Problem
from lampwright.written import write_whole

_PLACEHOLDER = "NAME OF THE PIECE"


def write_new(path: Path, name: str) -> None:
    """Write a starting piece file, with comments, for a piece of this name.

    Parameters
    ----------
    path
        The file to write; folders above it are made as needed.
    name
        What the piece is called.

    Raises
    ------
    MakerError
        PIECE-024 when the file is there already (it is left as it is) or can't be written; PIECE-007 for
        an empty, too long or unprintable name.
    """
    if path.is_dir():
        raise MakerError([_not_written(path, "this is a folder", "name the file to write, such as garden.toml")])
    if path.exists():
        raise MakerError(
            [_not_written(path, "there is already such a file", "choose another name; nothing was written")]
        )
    text = starting_text(name)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, text)
    except OSError as error:
        summary = f"the file can't be written: {error.strerror or 'unknown reason'}"
        raise MakerError([_not_written(path, summary, "choose a folder that you may write to")]) from None


def starting_text(name: str) -> str:
    """Return the starting file's text for a piece of this name."""
    try:
        Text('"Frost Gate"')(name)
    except PydanticCustomError as error:
        raise MakerError(fault.problem for fault in faults_of(error)) from None
    example = resources.files("lampwright.piece").joinpath("start.toml").read_text(encoding="utf-8")
    quoted = name.replace("\\", "\\\\").replace('"', '\\"')
    return example.replace(_PLACEHOLDER, quoted)


def _not_written(path: Path, summary: str, do: str) -> Problem:
    return Problem("PIECE-024", summary, str(path), "a file that is not there yet", do)
