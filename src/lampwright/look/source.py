"""A look's text and what was declared in it, before it is fitted to a circuit."""

from __future__ import annotations

import ast
from collections.abc import Mapping
from dataclasses import dataclass

from lampwright.look.colour import hex_to_linear
from lampwright.units.errors import MakerError, Place, Problem
from lampwright.units.parse import UnitError, parse
from lampwright.units.table import Kind

UNIT_KINDS: dict[str, Kind] = {
    "": "share",
    "s": "time",
    "/s": "rate",
    "m": "length",
    "/m": "density",
    "m/s": "speed",
}
"""Units that a setting may have, and the kind of quantity that the piece file may give for it."""


@dataclass(frozen=True)
class Change:
    """A setting that goes evenly from one value to another over its cue."""

    start: float | str
    end: float | str


Value = float | str | Change
"""A setting's value: a number in SI units, a hex colour, or a change. As given, a quantity is still a text."""


@dataclass(frozen=True)
class Setting:
    """A number or colour that the piece file may set. Numbers in SI units."""

    name: str
    default: float | str
    least: float
    most: float
    unit: str
    help: str

    @property
    def is_colour(self) -> bool:
        """Whether it takes a hex colour."""
        return isinstance(self.default, str)


@dataclass(frozen=True)
class Look:
    """A look as read: its name, first line, settings and statements, each checked for form."""

    name: str
    title: str
    file: str
    lines: tuple[str, ...]
    settings: Mapping[str, Setting]
    declared: Mapping[str, Place]
    """Where the name of each setting stands."""
    statements: tuple[ast.Assign, ...]

    def place(self, node: ast.AST) -> Place:
        """Return where a piece of syntax stands, in characters."""
        return place_of(node, self.file, self.lines)


def place_of(node: ast.AST, file: str, lines: tuple[str, ...]) -> Place:
    """Return where ``node`` stands. ``ast`` counts columns in UTF-8 bytes; makers count characters."""
    line = getattr(node, "lineno", 1)
    text = lines[line - 1] if line <= len(lines) else ""
    raw = text.encode()
    start = len(raw[: getattr(node, "col_offset", 0)].decode(errors="replace"))
    same_line = getattr(node, "end_lineno", line) == line
    end = len(raw[: getattr(node, "end_col_offset", len(raw))].decode(errors="replace")) if same_line else len(text)
    return Place(file, line, start + 1, max(1, end - start), text)


def settle(look: Look, given: Mapping[str, Value], where: Mapping[str, Place | None]) -> dict[str, Value]:
    """Return every setting's value: the one given, checked, or its default.

    ``where`` tells for each given name where it stands in the piece file.

    Raises
    ------
    MakerError
        LOOK-008 for each name that the look doesn't declare and each value it can't take.
    """
    values: dict[str, Value] = {name: s.default for name, s in look.settings.items()}
    problems = []
    for name, value in given.items():
        place = where.get(name)
        setting = look.settings.get(name)
        if setting is None:
            problems.append(_unknown(look, name, place))
            continue
        ends = (value.start, value.end) if isinstance(value, Change) else (value,)
        settled = [_settle_one(setting, end, place) for end in ends]
        wrong = [s for s in settled if isinstance(s, Problem)]
        right = [s for s in settled if not isinstance(s, Problem)]
        problems.extend(wrong)
        if not wrong:
            values[name] = Change(*right) if len(right) == 2 else right[0]
    if problems:
        raise MakerError(problems)
    return values


def _unknown(look: Look, name: str, place: Place | None) -> Problem:
    names = ", ".join(f'"{n}"' for n in look.settings) or "none"
    return Problem(
        "LOOK-008",
        f'look "{look.name}" has no setting "{name}"',
        f'"{name}"',
        f"its settings: {names}",
        "use one of these names, or leave it out",
        place,
    )


def _settle_one(setting: Setting, value: float | str, place: Place | None) -> float | str | Problem:
    if setting.is_colour:
        if isinstance(value, str) and hex_to_linear(value) is not None:
            return value
        found, allowed = _say(value), 'a hex colour, such as "#bfe3ff"'
        summary = f'setting "{setting.name}" is a colour'
        return Problem("LOOK-008", summary, found, allowed, f'write {setting.name} = "{setting.default}"', place)
    number = value
    if isinstance(value, str):
        try:
            number = parse(value, UNIT_KINDS[setting.unit])
        except UnitError:
            number = float("nan")
    if isinstance(number, (int, float)) and setting.least <= number <= setting.most:
        return float(number)
    span = f"{setting.least:g} to {setting.most:g} {setting.unit}".rstrip()
    return Problem(
        "LOOK-008",
        f'setting "{setting.name}" can\'t take this value',
        _say(value),
        span,
        f"write {setting.name} = {_example(setting)}",
        place,
    )


def setting_text(setting: Setting, value: Value) -> str:
    """Return a settled value as a maker would say it."""
    if isinstance(value, Change):
        return f"{setting_text(setting, value.start)} to {setting_text(setting, value.end)}"
    return value if isinstance(value, str) else f"{value:g} {setting.unit}".rstrip()


def _say(value: float | str) -> str:
    return f'"{value}"' if isinstance(value, str) else f"{value:g}"


def _example(setting: Setting) -> str:
    assert not isinstance(setting.default, str)
    return f'"{setting.default:g} {setting.unit}"' if setting.unit else f"{setting.default:g}"
