"""The looks' C++: functions, the tables they read, and which cue calls which."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from lampwright.look import FlashTable, TablePool
from lampwright.look.program import Program
from lampwright.show.model import CueProgram

_WIDTH = 100


@dataclass(frozen=True)
class LooksText:
    """``functions`` holds each cue's function name, in the order of the cues."""

    tables: str
    text: str
    functions: tuple[str, ...]


def write_looks(cues: Sequence[CueProgram]) -> LooksText:
    """Return the functions of all cues' looks; cues that share a program share its function."""
    pool = TablePool()
    names: dict[int, str] = {}
    texts = []
    for cue in cues:
        key = id(cue.program)
        if key not in names:
            names[key] = _function_name(cue.program, set(names.values()))
            texts.append(cue.program.cpp(names[key], pool))
    tables = "\n".join(table_text(table) for table in pool.tables)
    return LooksText(tables, "\n".join(texts), tuple(names[id(cue.program)] for cue in cues))


def _function_name(program: Program, taken: set[str]) -> str:
    base = "look_" + re.sub(r"[^a-z0-9]+", "_", program.look.name.lower()).strip("_")
    name, number = base, 2
    while name in taken:
        name, number = f"{base}_{number}", number + 1
    return name


def table_text(table: FlashTable) -> str:
    """Return a table's C++ definition, in lines of up to 100 signs."""
    numbers = [str(number) for number in table.values]
    comment = f"// {table.comment}\n" if table.comment else ""
    lines = rows(numbers)
    return f"{comment}static const {table.ctype} {table.name}[{len(numbers)}] PROGMEM = {{\n{lines}\n}};\n"


def rows(entries: Sequence[str]) -> str:
    """Return entries separated by commas, as many to a line as fit."""
    lines = [""]
    for entry in entries:
        if len(lines[-1]) + len(entry) + 2 > _WIDTH:
            lines.append("")
        lines[-1] += (" " if lines[-1] else "    ") + entry + ","
    return "\n".join(lines)
