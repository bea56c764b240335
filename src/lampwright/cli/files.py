"""How commands write what they made."""

from __future__ import annotations

from pathlib import Path


def write_file(path: Path, content: bytes) -> None:
    """Write a file in one step, so that nobody finds half of it.

    Raises
    ------
    OSError
        That names the file, not a part of it.
    """
    temporary = path.with_name(f".{path.name}.part")
    try:
        temporary.write_bytes(content)
        temporary.replace(path)
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(path)) from error
    finally:
        temporary.unlink(missing_ok=True)
