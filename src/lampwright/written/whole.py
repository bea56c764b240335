"""One way to write a file, for every part of the program."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path


def write_whole(path: Path, content: bytes | str) -> None:
    """Write a file in one step, so that a reader, a cut or a full disk never leaves half of it.

    A text is written as UTF-8, its line ends as they stand.

    Raises
    ------
    OSError
        That names the file, not a part of it.
    """
    beside = path.with_name(f".{path.name}.part")
    try:
        beside.write_bytes(content if isinstance(content, bytes) else content.encode())
        beside.replace(path)
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(path)) from error
    finally:
        with suppress(OSError):  # gone when all went well; else half a file, also after Ctrl-C
            beside.unlink()
