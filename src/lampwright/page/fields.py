"""The piece file as fields to change: each value where it stands, written back in its place.

Only the characters of the value change: comments, order and layout of the file stay as they are.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from lampwright.formula import FormulaError, is_formula
from lampwright.piece.measures import TABLE, Measures, NoMeasureError
from lampwright.piece.source import locate
from lampwright.units.errors import Place

Step = str | int


@dataclass(frozen=True)
class Field:
    """One value of the piece file."""

    path: tuple[Step, ...]
    table: str
    """The table it stands in, as a maker would call it: 'circuit "arch", run "hoop", section 1'."""
    key: str
    value: str
    """What stands in the file, without the quotes of a text."""
    is_text: bool
    comment: str
    gives: str
    """What a formula comes to, such as "1.3 m"; empty where the value is none."""
    place: Place
    """Where the value stands, its quotes included."""

    def data(self) -> dict[str, Any]:
        """Return it ready for JSON."""
        return {
            "path": list(self.path),
            "table": self.table,
            "key": self.key,
            "value": self.value,
            "isText": self.is_text,
            "comment": self.comment,
            "gives": self.gives,
        }


def fields_of(text: str) -> tuple[Field, ...]:
    """Return every value that stands on one line of a piece file, in the order of the file."""
    locations = locate(text, "")
    lines = text.split("\n")
    entries = tomllib.loads(text)
    table_of_measures = entries.get(TABLE)
    measures = Measures(table_of_measures if isinstance(table_of_measures, dict) else {})
    fields = []
    for path, value in _values(entries, ()):
        place = locations.values[path]
        source = _source(lines, place)
        if not _is_whole(source, value):
            continue  # a list over several lines is changed in the file itself
        shown = value if isinstance(value, str) else source
        table = table_name(entries, path[:-1])
        comment = _comment(lines[place.line - 1], place.column - 1 + place.length)
        fields.append(
            Field(path, table, str(path[-1]), shown, isinstance(value, str), comment, _gives(value, measures), place)
        )
    return tuple(sorted(fields, key=lambda field: field.place.line))


def changed(text: str, field: Field, value: str) -> str:
    """Return the text with another value in one of the fields that :func:`fields_of` has found in it.

    A text stays a text; anything else is taken as written, and what isn't TOML is for the reader of the
    piece file to refuse.
    """
    return rewritten(text, field, quoted(value) if field.is_text else " ".join(value.split()))


def rewritten(text: str, field: Field, written: str) -> str:
    """Return the text with another value, as TOML, in one of the fields that :func:`fields_of` has found in it."""
    lines = text.split("\n")
    line = lines[field.place.line - 1]
    start = field.place.column - 1
    lines[field.place.line - 1] = line[:start] + written + line[start + field.place.length :]
    return "\n".join(lines)


def quoted(text: str) -> str:
    """Return a text as TOML: JSON's escapes are TOML's too, but TOML wants one more sign escaped."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _values(entry: Mapping[str, Any], path: tuple[Step, ...]) -> Iterator[tuple[tuple[Step, ...], Any]]:
    """Yield every value that has a key of its own, also within { }; what is inside [ ] belongs to it."""
    for key, value in entry.items():
        own = (*path, key)
        if isinstance(value, dict) and value:
            yield from _values(value, own)
        elif isinstance(value, list) and value and all(isinstance(each, dict) for each in value):
            for number, each in enumerate(value):
                yield from _values(each, (*own, number))
        else:
            yield own, value


def _source(lines: list[str], place: Place) -> str:
    start = place.column - 1
    return lines[place.line - 1][start : start + place.length]


def _is_whole(source: str, value: object) -> bool:
    """Return whether these characters are the whole value: no table's header, no line of many."""
    try:
        return bool(tomllib.loads(f"value = {source}")["value"] == value)
    except tomllib.TOMLDecodeError:
        return False


def _gives(value: object, measures: Measures) -> str:
    """Return what a formula comes to, or nothing where there is none or it comes to nothing."""
    if not isinstance(value, str) or not is_formula(value):
        return ""
    try:
        return measures.work_out(value).spoken()
    except (FormulaError, NoMeasureError):
        return ""


def _comment(line: str, end: int) -> str:
    rest = line[end:].strip().lstrip(",}] ").strip()
    return rest.lstrip("#").strip() if rest.startswith("#") else ""


def table_name(entries: Mapping[str, Any], path: tuple[Step, ...]) -> str:
    """Return what a maker calls the table at ``path``."""
    names: list[str] = []
    here: Any = entries
    for step in path:
        here = here[step] if isinstance(step, int) else here.get(step, {})
        if isinstance(step, str):
            names.append(step)
        else:
            own = here.get("name") if isinstance(here, dict) else None
            names[-1] += f' "{own}"' if isinstance(own, str) else f" {step + 1}"
    return ", ".join(names)
