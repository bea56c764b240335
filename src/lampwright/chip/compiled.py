"""Compiling the core, and where the compiled code is kept.

numba's own cache looks only at the file of the function that is compiled, so it would go
on using old machine code after a change in another file of this package. The cache folder
is therefore named after the content of all of them. It lies in the user's cache folder,
since an installed package's own folder may not be writable.
"""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

import numba
import numpy as np

Parameters = ParamSpec("Parameters")
Result = TypeVar("Result")

_compile: Any = numba.njit
_settings: Any = numba.config
"""Untyped here, since the types that come with numba don't know all of its options."""

_CORE = {"_nrt": False, "error_model": "numpy"}
"""No counting of references to arrays (it took most of the run), no check for a division by zero."""

_INNER = _CORE | {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
"""No way in from Python, which would be compiled for each function."""


def _user_cache() -> Path:
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches"
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")


def _fingerprint() -> str:
    """Return a name that changes with any source or table of this package and with numba."""
    digest = hashlib.sha256(f"{numba.__version__} {sys.version}".encode())
    for path in sorted(Path(__file__).parent.glob("*.*")):
        if path.suffix in (".py", ".toml"):
            digest.update(path.name.encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:16]


def cache_folder() -> Path:
    """Return a writable folder for the compiled core, made if need be."""
    folder = Path("lampwright") / "chip" / _fingerprint()
    try:
        kept = _user_cache() / folder
        kept.mkdir(parents=True, exist_ok=True)
        if os.access(kept, os.W_OK):
            return kept
    except (OSError, RuntimeError):  # RuntimeError: there is no home folder
        pass
    kept = Path(tempfile.gettempdir()) / f"lampwright-{os.getuid() if hasattr(os, 'getuid') else 0}" / folder
    kept.mkdir(parents=True, exist_ok=True)
    return kept


def compiled_and_kept(function: Callable[Parameters, Result]) -> Callable[Parameters, Result]:
    """Compile a function that Python calls, and keep the machine code for the next process."""
    before = _settings.CACHE_DIR
    _settings.CACHE_DIR = str(cache_folder())
    try:
        kept: Callable[Parameters, Result] = _compile(cache=True, **_CORE)(function)
        return kept
    finally:
        _settings.CACHE_DIR = before


def compiled(function: Callable[Parameters, Result]) -> Callable[Parameters, Result]:
    """Compile a function that only compiled code calls."""
    plain: Callable[Parameters, Result] = _compile(**_INNER)(function)
    return plain


def inlined(function: Callable[Parameters, Result]) -> Callable[Parameters, Result]:
    """Compile a small function into each place that calls it."""
    merged: Callable[Parameters, Result] = _compile(forceinline=True, **_INNER)(function)
    return merged


def as_argument(value: int) -> int:
    """Return a constant for use as an argument between compiled functions.

    For a plain constant numba would compile the callee once more, for that value alone.
    """
    number: Any = np.int64(value)
    constant: int = number
    return constant
