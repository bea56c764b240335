"""The piece file as the page's form: what stands in it, what is left at its default, and what may be picked.

What a table may hold is asked of the piece's own schema (:mod:`lampwright.piece.keys`), and of a look for its settings.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from lampwright.look import Setting
from lampwright.page.fields import Field, Step, fields_of, quoted, table_name
from lampwright.page.picks import Picks
from lampwright.piece.keys import Key, keys_of
from lampwright.piece.source import Locations, locate
from lampwright.show import CircuitShow

ABSENT = ("standby", "allowances", "work")
"""Tables that may be left out as a whole; their keys are offered all the same."""

NUMBER = re.compile(r"[-+]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?")

PathT = tuple[Step, ...]
KeysOf = Callable[[Mapping[str, Any], PathT], tuple[Key, ...]]


@dataclass(frozen=True)
class Row:
    """One key of the form, in the file or left out."""

    path: PathT
    means: str
    takes: str
    left_out: str
    """What holds without it; empty where it is needed."""
    example: str
    """A value as TOML."""
    field: Field | None
    """What stands in the file; None where it is left out."""
    picks: str = ""
    """The name of the list from which it is picked, where there is one."""
    is_colour: bool = False
    together: tuple[tuple[str, str], ...] = ()
    """Keys that are written with it, and taken out with it."""

    def data(self) -> dict[str, Any]:
        """Return it ready for JSON."""
        words = {
            "means": self.means,
            "takes": self.takes,
            "leftOut": self.left_out,
            "picks": self.picks,
            "isColour": self.is_colour,
            "mayGo": self.field is not None and self.left_out != "",
        }
        if self.field is not None:
            return self.field.data() | words
        empty = {"value": None, "isText": False, "comment": "", "gives": "", "table": ""}
        return {"path": list(self.path), "key": str(self.path[-1])} | empty | words

    def written(self, typed: str) -> str:
        """Return what was typed as TOML: a formula and a quantity in quotes, a number and a list as they are.

        What makes no sense is for the reader of the piece file to refuse.
        """
        plain = " ".join(typed.split())
        if plain.startswith("="):
            return quoted(plain)
        if not self.example.startswith('"'):
            return plain
        if plain.startswith("{") and (self.picks or "set" in self.path):  # a part or a setting with more to say
            return plain
        if plain.startswith("[") and "a list" in self.takes:
            return plain
        return quoted(typed.strip())


@dataclass(frozen=True)
class Table:
    """One table of the form, its rows in the order of the file, then what is left out."""

    path: PathT
    name: str
    """As a maker would call it: 'circuit "arch", run "hoop", section 1'."""
    hint: str
    """What tells it from its like, such as a cue's look and length."""
    rows: tuple[Row, ...]
    begins: tuple[Row, ...]
    """Tables within it that are left out and may be begun."""
    may_copy: bool
    may_go: bool

    def data(self) -> dict[str, Any]:
        """Return it ready for JSON."""
        last = self.path[-1]
        return {
            "path": list(self.path),
            "name": self.name,
            "title": self.name.split(", ")[-1] if last != "set" else "settings of the look",
            "hint": self.hint,
            "begins": [row.data() for row in self.begins],
            "mayCopy": self.may_copy,
            "mayGo": self.may_go,
        }


@dataclass(frozen=True)
class Form:
    """Everything that the page offers to change."""

    tables: tuple[Table, ...]
    picks: Mapping[str, Sequence[tuple[str, str]]]
    """Lists to pick from by name: each a value and what is said beside it."""

    def row(self, path: PathT) -> Row | None:
        """Return the key at a path, whether it stands in the file or may be added."""
        rows = (row for table in self.tables for row in (*table.rows, *table.begins))
        return next((row for row in rows if row.path == path), None)

    def table(self, path: PathT) -> Table | None:
        """Return the table at a path."""
        return next((table for table in self.tables if table.path == path), None)

    def data(self) -> dict[str, Any]:
        """Return it ready for JSON."""
        return {
            "fields": [row.data() | {"table": table.name} for table in self.tables for row in table.rows],
            "tables": [table.data() for table in self.tables],
            "picks": {name: [list(pick) for pick in picks] for name, picks in self.picks.items()},
        }


def form_of(text: str, shows: Sequence[CircuitShow], picks: Picks, keys: KeysOf = keys_of) -> Form:
    """Return the form of a piece file, or of another whose tables' keys ``keys`` tells, that can be read.

    Parameters
    ----------
    shows
        Of the same text: a cue's settings are those of its look.
    """
    entries = tomllib.loads(text)
    found = locate(text, "")
    standing: dict[PathT, list[Field]] = {}
    for each in fields_of(text):
        standing.setdefault(each.path[:-1], []).append(each)

    def settings(number: int) -> Mapping[str, Setting]:
        return shows[0].cues[number].program.look.settings if shows else {}

    maker = _Maker(entries, found, standing, settings, picks, keys)
    tables = [maker.table(path, entry) for path, entry in _tables(entries)]
    return Form(tuple(tables), picks.lists)


def _tables(entries: Mapping[str, Any]) -> Iterator[tuple[PathT, Mapping[str, Any]]]:
    """Yield every table of the file in its order, and those that may be left out as a whole."""

    def below(path: PathT, entry: Mapping[str, Any]) -> Iterator[tuple[PathT, Mapping[str, Any]]]:
        yield path, entry
        if len(path) == 2 and path[0] == "cue" and "set" not in entry:
            yield (*path, "set"), {}
        for key, value in entry.items():
            if isinstance(value, dict):
                yield from below((*path, key), value)
            elif isinstance(value, list) and value and all(isinstance(each, dict) for each in value):
                for number, each in enumerate(value):
                    yield from below((*path, key, number), each)

    yield from list(below((), entries))[1:]
    yield from (((name,), {}) for name in ABSENT if name not in entries)


class _Maker:
    """Makes the tables of one form."""

    def __init__(
        self,
        entries: Mapping[str, Any],
        found: Locations,
        standing: Mapping[PathT, list[Field]],
        settings: Callable[[int], Mapping[str, Setting]],
        picks: Picks,
        keys: KeysOf,
    ) -> None:
        self._entries, self._found, self._standing = entries, found, standing
        self._settings, self._picks, self._keys = settings, picks, keys

    def table(self, path: PathT, entry: Mapping[str, Any]) -> Table:
        own = {field.key: field for field in self._standing.get(path, [])}
        if path[0] == "cue" and len(path) == 3 and path[2] == "set":
            offered = {setting.name: self._setting(path, setting, own) for setting in self._settings_of(path).values()}
            known: tuple[Key, ...] = ()
        else:
            known = self._keys(self._entries, path)
            offered = {key.name: self._row(path, key, own.get(key.name), entry) for key in known}
        rows = [offered.get(key) or _free(field) for key, field in own.items()]
        tables = {key.name for key in known if key.is_table}
        may_add = self._may_add(path)
        missing = [
            row
            for name, row in offered.items()
            if name not in entry and name != "set" and row.left_out and may_add and _fits(known, name, entry)
        ]
        rows += [row for row in missing if row.path[-1] not in tables]
        begins = [row for row in missing if row.path[-1] in tables]
        return Table(
            path,
            table_name(self._entries, path),
            _hint(path, entry),
            tuple(rows),
            tuple(begins),
            may_copy=isinstance(path[-1], int),
            may_go=self._may_go(path),
        )

    def _row(self, path: PathT, key: Key, field: Field | None, entry: Mapping[str, Any]) -> Row:
        picks = self._picks.of(self._entries, path, key, entry)
        own = (*path, key.name)
        return Row(own, key.means, key.takes, key.left_out, key.example, field, picks, key.is_colour, key.together)

    def _setting(self, path: PathT, setting: Setting, own: Mapping[str, Field]) -> Row:
        told = _told(setting)
        takes = "a colour" if setting.is_colour else f"{_span(setting)}; also {{ from = ..., to = ... }} over the cue"
        example = f'"{told}"' if setting.is_colour or setting.unit else told
        row = (*path, setting.name)
        return Row(row, setting.help, takes, told, example, own.get(setting.name), is_colour=setting.is_colour)

    def _settings_of(self, path: PathT) -> Mapping[str, Setting]:
        return self._settings(int(path[1]))

    def _may_add(self, path: PathT) -> bool:
        """Return whether the text has a place for one more key of this table."""
        found = self._found
        is_missing = path not in found.values
        return path in found.headers or path in found.braces or is_missing

    def _may_go(self, path: PathT) -> bool:
        around, last = path[:-1], path[-1]
        if isinstance(last, str):
            if path not in self._found.pairs or not around:
                return False
            key = next((key for key in self._keys(self._entries, around) if key.name == last), None)
            return "set" in path[:-1] or (key is not None and not key.is_needed)
        if (*around, 1) in self._found.values:
            return True
        return path in self._found.braces and around[-1] != "section"


def _fits(known: Sequence[Key], name: str, entry: Mapping[str, Any]) -> bool:
    key = next((key for key in known if key.name == name), None)
    return key is None or key.fits(entry)


def _free(field: Field) -> Row:
    """Return the row of a value whose key is the maker's own to name."""
    example = "" if NUMBER.fullmatch(field.value) or not field.is_text else '"'
    return Row(field.path, "", "", "", example, field)


def _told(setting: Setting) -> str:
    if isinstance(setting.default, str):
        return setting.default
    return f"{setting.default:g} {setting.unit}".rstrip()


def _span(setting: Setting) -> str:
    return f"{setting.least:g} to {setting.most:g} {setting.unit}".rstrip()


def _hint(path: PathT, entry: Mapping[str, Any]) -> str:
    """Return what tells a table from others of its name."""
    if path[-1] == "set":
        return ""
    if path[0] == "cue" and len(path) == 2:
        return ", ".join(str(entry[key]) for key in ("look", "length") if key in entry)
    if "span" in entry and isinstance(entry["span"], dict):
        return f"{entry['span'].get('from')} to {entry['span'].get('to')}"
    for key in ("on", "at", "part", "pattern", "shape", "strip", "wire", "tie"):
        if isinstance(entry.get(key), str):
            return str(entry[key])
    return ""
