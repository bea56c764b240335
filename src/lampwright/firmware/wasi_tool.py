"""Runs tools that are WebAssembly modules, in a process of its own.

Started by its path, so that nothing of the package is imported here and nothing of the tools gets into
the program's own process. A job comes in as JSON, an answer goes out as JSON:

Each step is a tool's name and its arguments; the first that fails ends the job. The answer's text is what
the tools said. A job without steps gets its modules ready. A module is compiled to machine code once and kept.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypedDict

import wasmtime


class Place(TypedDict):
    """A tool's module, and the file where its machine code is kept; none is kept where that is empty."""

    wasm: str
    kept: str


class Job(TypedDict):
    """What comes in; a folder is (path, name, may write)."""

    modules: dict[str, Place]
    folders: list[tuple[str, str, bool]]
    steps: list[list[str]]


class Answer(TypedDict):
    """What goes out."""

    is_done: bool
    text: str


@dataclass(frozen=True)
class Folder:
    """A folder of the disk, and the name under which the tools see it."""

    path: str
    name: str
    may_write: bool


def module(engine: wasmtime.Engine, place: Place) -> wasmtime.Module:
    """Return a module from the kept machine code, or compile and keep it."""
    kept = Path(place["kept"]) if place["kept"] else None
    if kept is not None and kept.is_file():
        try:
            return wasmtime.Module.deserialize_file(engine, str(kept))
        except wasmtime.WasmtimeError:
            pass  # another processor's or another version's: compile anew
    compiled = wasmtime.Module.from_file(engine, place["wasm"])
    if kept is not None:
        keep(compiled.serialize(), kept)
    return compiled


def keep(code: bytes | bytearray, kept: Path) -> None:
    """Write machine code whole or not at all; where that can't be done, the next process compiles again."""
    try:
        kept.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=kept.parent, suffix=".part")
    except OSError:
        return
    beside = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(code)
        beside.replace(kept)
    except OSError:
        beside.unlink(missing_ok=True)


def run(
    engine: wasmtime.Engine, tool: wasmtime.Module, arguments: Sequence[str], folders: Sequence[Folder], said: Path
) -> int:
    """Run a tool to its end and return its exit code; what it says is added to the file ``said``."""
    words = {stream: said.with_name(stream) for stream in ("out", "error")}
    config = wasmtime.WasiConfig()
    config.argv = list(arguments)
    config.stdout_file = str(words["out"])
    config.stderr_file = str(words["error"])
    for folder in folders:
        config.preopen_dir(folder.path, folder.name, folder.may_write)
    store = wasmtime.Store(engine)
    store.set_wasi(config)
    linker = wasmtime.Linker(engine)
    linker.define_wasi()
    start = linker.instantiate(store, tool).exports(store)["_start"]
    assert isinstance(start, wasmtime.Func)
    code = 0
    try:
        start(store)
    except wasmtime.ExitTrap as leaving:
        code = leaving.code
    except wasmtime.Trap as trap:
        code = 1
        with words["error"].open("a", encoding="utf-8") as stream:
            stream.write(f"{arguments[0]} broke down: {trap}\n")
    del store, linker  # closes the files
    said.write_bytes(said.read_bytes() + words["out"].read_bytes() + words["error"].read_bytes())
    return code


def answer(job: Job) -> Answer:
    """Do a job."""
    engine = wasmtime.Engine()
    modules = {tool: module(engine, place) for tool, place in job["modules"].items()}
    with tempfile.TemporaryDirectory() as made, tempfile.TemporaryDirectory() as words:
        folders = [*(Folder(*folder) for folder in job["folders"]), Folder(made, "/made", True)]
        said = Path(words) / "said"
        said.touch()
        is_done = all(run(engine, modules[step[0]], step, folders, said) == 0 for step in job["steps"])
        return {"is_done": is_done, "text": said.read_text(encoding="utf-8", errors="replace")}


if __name__ == "__main__":
    json.dump(answer(json.load(sys.stdin)), sys.stdout)
