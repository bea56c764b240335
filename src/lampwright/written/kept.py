"""Folders where something is kept between runs."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path


def user_cache() -> Path:
    """Return this system's folder for what a user's programs keep for later."""
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches"
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")


def user_data() -> Path:
    """Return this system's folder for what a user makes and never wants to lose."""
    if sys.platform == "win32":
        return Path(os.environ.get("APPDATA") or Path.home() / "AppData" / "Roaming")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support"
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")


def kept_folder(name: str = "compiler") -> Path | None:
    """Return a folder that only this user writes, since what is kept in it will be run; ``None`` without one."""
    for find in (user_cache, _own_temporary):
        try:
            root = find()
            folder = root / "lampwright" / name
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            if os.access(folder, os.W_OK) and all(_is_own(path) for path in (root, folder.parent, folder)):
                return folder
        except (OSError, RuntimeError):  # RuntimeError: there is no home folder
            continue
    return None


def _own_temporary() -> Path:
    return Path(tempfile.gettempdir()) / f"lampwright-{os.getuid() if hasattr(os, 'getuid') else 'user'}"


def _is_own(folder: Path) -> bool:
    return not hasattr(os, "getuid") or folder.stat().st_uid == os.getuid()
