"""Results of earlier rehearsals, kept so that what was run once isn't run again.

A result belongs to one binary, show, plan and state of this program: whatever of these changes, the
rehearsal is run anew. An entry that is damaged, or can't be read or written, is as none.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import tempfile
from collections.abc import Iterator
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import TypeVar

from lampwright.rehearsal.part import Part
from lampwright.written.kept import kept_folder

MOST_ENTRIES = 64
"""Of a few megabytes each; the ones used longest ago go first."""

_DIGEST_BYTES = 32

Result = TypeVar("Result")


class Earlier:
    """A folder of results; one that is ``None`` keeps nothing.

    Entries are pickles, which could run anything: the folder must be one that only this user writes.
    """

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder

    @classmethod
    def of_user(cls) -> Earlier:
        """Return the results in the user's cache folder."""
        return cls(kept_folder("rehearsals"))

    def find(self, part: Part, plan: object, kind: type[Result]) -> Result | None:
        """Return what came of this part and plan before, or ``None``."""
        if self._folder is None:
            return None
        path = self._path(self._folder, part, plan)
        try:
            content = path.read_bytes()
            digest, data = content[:_DIGEST_BYTES], content[_DIGEST_BYTES:]
            if digest != hashlib.sha256(data).digest():
                return None
            found = pickle.loads(data)
            os.utime(path)
        except Exception:  # whatever a damaged pickle raises
            return None
        return found if isinstance(found, kind) else None

    def keep(self, part: Part, plan: object, result: object) -> None:
        """Keep a result, in one step; do nothing where that can't be."""
        if self._folder is None:
            return
        data = pickle.dumps(result)
        try:
            handle, temporary = tempfile.mkstemp(dir=self._folder, prefix=".part-")
            with os.fdopen(handle, "wb") as file:
                file.write(hashlib.sha256(data).digest() + data)
            Path(temporary).replace(self._path(self._folder, part, plan))
            self._forget_oldest(self._folder)
        except OSError:
            return

    def _path(self, folder: Path, part: Part, plan: object) -> Path:
        digest = hashlib.sha256(program_fingerprint())
        digest.update(hashlib.sha256(part.image).digest())
        digest.update(pickle.dumps(part))
        digest.update(f"{type(plan).__name__} {plan!r}".encode())
        return folder / f"{digest.hexdigest()}.result"

    def _forget_oldest(self, folder: Path) -> None:
        entries = sorted(folder.glob("*.result"), key=lambda entry: entry.stat().st_mtime)
        for entry in entries[:-MOST_ENTRIES]:
            entry.unlink(missing_ok=True)


@cache
def program_fingerprint() -> bytes:
    """Return a hash of this program's own files: another version may judge otherwise."""
    digest = hashlib.sha256()
    for name, entry in _files(resources.files("lampwright"), ""):
        digest.update(f"{name}\n".encode() + hashlib.sha256(entry.read_bytes()).digest())
    return digest.digest()


def _files(folder: Traversable, path: str) -> Iterator[tuple[str, Traversable]]:
    for entry in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if entry.is_dir():
            yield from _files(entry, f"{path}{entry.name}/")
        elif entry.name.endswith((".py", ".toml")):
            yield f"{path}{entry.name}", entry
