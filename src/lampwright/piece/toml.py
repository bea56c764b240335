"""Read a TOML file, and say in a maker's words what keeps it from being TOML."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path as FilePath
from typing import Any

from lampwright.units import MakerError, Place, Problem

_POSITION = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_BARE_DAY = re.compile(r"^\s*[\w.-]+\s*=\s*(?P<value>\d{4}-\d{1,2}-\d{1,2})\s*(?:#.*)?$")
_BARE_QUANTITY = re.compile(r"^\s*(?P<key>[\w.-]+)\s*=\s*(?P<value>[-+]?[\d.][^\"'#,\]}]*?)\s*(?:#.*)?$")
_BARE_WORD = re.compile(r"^\s*(?P<key>[\w.-]+)\s*=\s*(?P<value>[^\s\"'#\[{\d][^\"'#]*?)\s*(?:#.*)?$")
_NO_VALUE = re.compile(r"^\s*(?P<key>[\w.-]+)\s*=\s*(?P<value>)(?:#.*)?$")


def read_text(path: FilePath) -> str:
    """Return the file's text, line ends as they stand.

    Raises
    ------
    MakerError
        PIECE-001 when there is no such file, or it can't be read as text.
    """
    try:
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        summary, do = "there is no such file", 'check the path, or begin one with "lampwright new"'
    except IsADirectoryError:
        summary, do = "this is a folder, not a file", "name the piece file within it"
    except UnicodeDecodeError:
        summary, do = "this is not a text file in UTF-8", "save it as UTF-8 text"
    except OSError as error:
        summary = f"the file can't be read: {error.strerror or 'unknown reason'}"
        do = "check that it is a file which you may read"
    raise MakerError(
        [Problem("PIECE-001", summary, found=str(path), allowed="a piece file: TOML text in UTF-8", do=do)]
    )


def parse_toml(text: str, file: str) -> dict[str, Any]:
    """Return the entries of a TOML text.

    Raises
    ------
    MakerError
        PIECE-002 with line and column, when it isn't TOML. Reading stops at the first such fault.
    """
    try:
        return tomllib.loads(text)
    except RecursionError:
        message = "Too deeply nested (at line 1, column 1)"
    except ValueError as error:  # TOMLDecodeError, and numbers of thousands of digits
        message = str(error)
    raise MakerError([_syntax_problem(text, file, message)])


def _syntax_problem(text: str, file: str, message: str) -> Problem:
    lines = [line.rstrip("\r").replace("\t", " ") for line in text.split("\n")]
    match = _POSITION.search(message)
    if match and match.group(1):
        number, column = int(match.group(1)), int(match.group(2))
    else:
        number = max((n for n, line in enumerate(lines, start=1) if line.strip()), default=1)
        column = len(lines[number - 1]) + 1
    reason = message[: match.start()] if match else message
    line = lines[number - 1] if number <= len(lines) else ""
    summary, do, start, length = _explain(reason, line, column)
    return Problem(
        code="PIECE-002",
        summary=summary,
        found=line.strip() or "an empty line",
        allowed='TOML: [table], [[table]], and key = value with texts in quotes, such as width = "2.4 m"',
        do=do,
        place=Place(file, number, start, length, line),
    )


def _explain(reason: str, line: str, column: int) -> tuple[str, str, int, int]:
    """Return summary, what to do, and the column and length to mark."""
    if "nested" in reason:
        return "lists or tables stand within each other too deeply", "take brackets away", 1, 1
    if match := _BARE_DAY.match(line):
        do = "write a day of the calendar without quotes, year first, such as 2026-12-19"
        return "there is no such day", do, match.start("value") + 1, len(match["value"])
    if match := _BARE_QUANTITY.match(line) or _BARE_WORD.match(line):
        key, value = match["key"], match["value"]
        do = f'write {key} = "{value}"'
        return "a text or quantity needs quotes around it", do, match.start("value") + 1, len(value)
    if match := _NO_VALUE.match(line):
        return f'nothing stands after "{match["key"]} ="', "write the value, or delete the line", column, 1
    if "Cannot overwrite" in reason:
        line = line.split("#")[0].rstrip()
        key = line.split("=")[0].strip(" []")
        return f'"{key}" is given twice', "delete one of the two", 1, max(1, len(line))
    if "Cannot declare" in reason:
        return (
            "this table was begun before",
            "move its entries there, or use [[...]] for one more",
            1,
            max(1, len(line)),
        )
    if "string" in reason or "Illegal character" in reason or reason.startswith("Expected \"'"):
        return "a text in quotes is not closed, or holds a sign it can't", "close the quotes", column, 1
    if "array" in reason:
        return "a list is not closed, or a comma is missing", "write [ ... ] with commas between", column, 1
    if line[column - 1 : column] == "}" and line[: column - 1].rstrip().endswith(","):
        return "there is a comma too many before }", "delete that comma", line.rindex(",", 0, column) + 1, 1
    if "inline table" in reason:
        return "a { ... } is not closed on its line, or a comma is missing", "close it on the same line", column, 1
    if "'='" in reason:
        return "an = is missing after the key", "write key = value", column, 1
    return "this is not TOML", "compare the line with an example piece", column, 1
