"""Compiles fused loops, and keeps them for the next time.

Their text is made by :mod:`lampwright.look.fused` alone, from a closed set of operations: nothing that a
look's author wrote is in it, not even a name.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import sys
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray

from lampwright.look.fused import Fused
from lampwright.written.kept import kept_folder

Loop = Callable[..., None]

_MODULE = '''\
"""Written by lampwright; may be deleted at any time."""
import numba
import numpy as np

@numba.njit(inline="always")
def scramble(value):
    value = value ^ (value >> 8)
    value = value * 0x9E3B & 0xFFFF
    value = value ^ (value >> 8)
    value = value * 0x6A8D & 0xFFFF
    return value ^ (value >> 8)

@numba.njit(error_model="numpy", nogil=True, cache={is_kept})
'''


def run_fused(fused: Fused, times: NDArray[np.int64], n_pixel: int, n_root: int) -> NDArray[np.uint8]:
    """Return the codes (n_time, n_pixel, n_root) at the cue's frame numbers ``times`` (n_time,).

    The first call for a text compiles it, in about a second, or takes what was compiled before.
    """
    out = np.empty((len(times), n_pixel, n_root), dtype=np.uint8)
    loop = compiled(fused.text)
    loop(times, fused.constants, fused.clocks, fused.places, fused.tables, fused.starts, out)
    return out


@cache
def compiled(text: str) -> Loop:
    """Return the loop of this text, ready to run."""
    folder = kept_folder(f"loops-{numba.__version__}")
    if folder is not None:
        name = f"lampwright_loop_{hashlib.sha256((_MODULE + text).encode()).hexdigest()[:20]}"
        try:
            file = folder / f"{name}.py"
            _keep(file, _MODULE.format(is_kept=True) + text)
            return _loaded(name, file)
        except OSError:  # a cache is worth having, never worth failing for
            pass
    namespace: dict[str, Any] = {}
    exec(_MODULE.format(is_kept=False) + text, namespace)
    loop: Loop = namespace["loop"]
    return loop


def _keep(file: Path, text: str) -> None:
    """Write the file unless it is there already, whole or not at all."""
    if file.is_file() and file.read_text(encoding="utf-8") == text:
        return
    handle, beside = tempfile.mkstemp(dir=file.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as written:
            written.write(text)
        Path(beside).replace(file)
    finally:
        Path(beside).unlink(missing_ok=True)


def _loaded(name: str, file: Path) -> Loop:
    specification = importlib.util.spec_from_file_location(name, file)
    assert specification is not None
    assert specification.loader is not None
    module = importlib.util.module_from_spec(specification)
    sys.modules[name] = module  # where numba looks when it takes up what it has kept
    specification.loader.exec_module(module)
    loop: Loop = module.loop
    return loop
