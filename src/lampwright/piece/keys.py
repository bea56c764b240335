"""What each table of a piece file may hold: every key with its meaning, its range, and what holds without it.

The schema says what is taken; ``keys.toml`` says in a maker's words what it is for.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, get_args

from pydantic.fields import FieldInfo

from lampwright.parts import FIGURE_KINDS, load_catalogue
from lampwright.piece.choices import PartChoice
from lampwright.piece.fields import Choice, Colour, LookName
from lampwright.piece.source import Path
from lampwright.piece.validate import TABLES
from lampwright.piece.wording import TAGS, checker_of, fields_of, model_at, models_in
from lampwright.units import unit_table

LISTS = ("reading", "feed", "joint")
"""Keys that are lists of tables and may be begun with one."""


@dataclass(frozen=True)
class Key:
    """One key that a table may hold."""

    name: str
    means: str
    takes: str
    """What is allowed, such as "a length from 0 m to 10 m"."""
    example: str
    """A value as TOML."""
    left_out: str
    """What holds without it; empty where it is needed."""
    words: tuple[str, ...] = ()
    """The only words that it takes, where it takes words."""
    part: type[Any] | None = None
    """The kind of part that it names."""
    is_look: bool = False
    is_colour: bool = False
    is_table: bool = False
    """Whether it holds a table or a list of tables; the example then begins one."""
    together: tuple[tuple[str, str], ...] = ()
    """Keys that are written with it, as TOML, and taken out with it."""
    beside: tuple[str, ...] = ()
    not_beside: tuple[str, ...] = ()

    @property
    def is_needed(self) -> bool:
        """Whether its table makes no sense without it."""
        return self.left_out == ""

    def fits(self, table: Mapping[str, Any]) -> bool:
        """Return whether it has a meaning in a table that holds these entries."""
        is_wanted = not self.beside or any(key in table for key in self.beside)
        return is_wanted and not any(key in table for key in self.not_beside)


def keys_of(entries: Mapping[str, Any], path: Path) -> tuple[Key, ...]:
    """Return the keys that the table at ``path`` may hold, in the order of the schema.

    ``entries`` are those of the whole file. Tables whose keys are the maker's to name (measures, a look's
    settings) have none, and neither has a table that the schema doesn't know.
    """
    head = str(path[0])
    if head not in TABLES:
        return ()
    below = path[2:] if TABLES[head].is_list else path[1:]
    raw: Any = entries.get(head, {})
    for step in path[1 : len(path) - len(below)]:
        raw = raw[step]
    return keys_at(TABLES[head].model, raw, below, rows_of(path))


def keys_at(model: Any, raw: Any, below: Path, rows: Mapping[str, Any]) -> tuple[Key, ...]:
    """Return the keys of the table at ``below`` in an entry ``raw`` of a schema's model, by rows as in keys.toml."""
    if "set" in below:
        return ()
    part = _part_at(model, raw, below)
    if part is not None:
        return _figures_of(part)
    return tuple(_key(name, field, rows) for name, field in fields_of(model_at(model, raw, below)).items())


def rows_of(path: Path) -> Mapping[str, Any]:
    """Return the rows of keys.toml on the table at ``path``."""
    return _words().get(".".join(str(step) for step in path if isinstance(step, str)), {})


def _part_at(model: Any, raw: Any, below: Path) -> type[Any] | None:
    """Return the kind of part that the table at ``below`` gives figures of its own."""
    if not below or not isinstance(below[-1], str):
        return None
    field = fields_of(model_at(model, raw, below[:-1])).get(below[-1])
    checker = None if field is None else checker_of(field)
    return checker.kind if isinstance(checker, PartChoice) else None


def _figures_of(part: type[Any]) -> tuple[Key, ...]:
    names = tuple(load_catalogue().of(part))
    own = [Key("part", "of the catalogue", "the name of a part", f'"{names[0]}"', "", part=part)]
    for name, kind in FIGURE_KINDS[part].items():
        words = unit_table().kinds[kind]
        own.append(Key(name, "your own figure", words.phrase, f'"{words.example}"', "the catalogue's figure"))
    return tuple(own)


def _key(name: str, field: FieldInfo, words: Mapping[str, Any]) -> Key:
    row = words[name]
    checker = checker_of(field)
    tag = TAGS.get(name, ()) if checker is None else ()
    models = models_in(field.annotation)
    if checker is not None:
        takes, example = checker.takes, checker.example
    elif tag:
        takes, example = "one of its words", f'"{tag[0]}"'
    else:
        takes, example = "a table", str(row.get("opens") or _begun(models[0], name in LISTS))
    return Key(
        name,
        row["means"],
        takes,
        example,
        "" if field.is_required() else row.get("left_out", ""),
        checker.words if isinstance(checker, Choice) else tag,
        checker.kind if isinstance(checker, PartChoice) else None,
        isinstance(checker, LookName),
        isinstance(checker, Colour),
        bool(models),
        tuple(row.get("together", {}).items()),
        tuple(row.get("beside", ())),
        tuple(row.get("not_beside", ())),
    )


def _begun(model: Any, is_list: bool) -> str:
    """Return a table with the examples of the keys that it needs."""
    pairs = []
    for name, field in fields_of(model).items():
        checker = checker_of(field)
        if field.is_required():
            pairs.append(f"{name} = {_first_word(field) if checker is None else checker.example}")
    table = "{ " + ", ".join(pairs) + " }"
    return f"[{table}]" if is_list else table


def _first_word(field: FieldInfo) -> str:
    return f'"{get_args(field.annotation)[0]}"'


@cache
def _words() -> Mapping[str, Mapping[str, Any]]:
    """Return the rows of keys.toml by table, such as "circuit.run"."""
    text = (resources.files("lampwright.piece") / "keys.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
