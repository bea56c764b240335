"""Hold a piece file's entries against the schema, and say everything that is wrong with them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Generic, TypeVar, get_args

from pydantic import BaseModel, TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from lampwright.piece.fields import unknown_choice, wrong_type
from lampwright.piece.report import Report, did_you_mean, quoted_list
from lampwright.piece.schema import (
    BriefEntry,
    CircuitEntry,
    CueEntry,
    HoopEntry,
    MemberEntry,
    ShowEntry,
    StandbyEntry,
    StraightEntry,
)
from lampwright.piece.source import Path
from lampwright.units import Problem

EntryT = TypeVar("EntryT")

_TAGS = {"shape": ("hoop", "straight"), "pattern": ("row", "ring", "grid")}
"""Keys whose word decides which other keys a table takes."""


@dataclass(frozen=True)
class Listed(Generic[EntryT]):
    """One entry of a list of tables; ``entry`` is ``None`` when it had problems of its own."""

    path: Path
    name: str | None
    """The name as written, when there is one, so that others may still refer to it."""
    entry: EntryT | None


@dataclass(frozen=True)
class Draft:
    """What could be read; what had problems is ``None`` and has been reported."""

    brief: BriefEntry | None
    members: tuple[Listed[HoopEntry | StraightEntry], ...]
    circuits: tuple[Listed[CircuitEntry], ...]
    standby: StandbyEntry | None
    show: ShowEntry | None
    cues: tuple[Listed[CueEntry], ...]


@dataclass(frozen=True)
class _TableKind:
    """A table at the top of the file."""

    model: Any
    is_list: bool
    is_needed: bool

    @property
    def adapter(self) -> TypeAdapter[Any]:
        return _adapter(self.model)


@cache
def _adapter(model: Any) -> TypeAdapter[Any]:
    return TypeAdapter(model)


_TABLES = {
    "brief": _TableKind(BriefEntry, is_list=False, is_needed=True),
    "member": _TableKind(MemberEntry, is_list=True, is_needed=True),
    "circuit": _TableKind(CircuitEntry, is_list=True, is_needed=True),
    "standby": _TableKind(StandbyEntry, is_list=False, is_needed=False),
    "show": _TableKind(ShowEntry, is_list=False, is_needed=True),
    "cue": _TableKind(CueEntry, is_list=True, is_needed=True),
}


def validate(raw: Mapping[str, Any], report: Report) -> Draft:
    """Return what fits the schema, and report all that does not."""
    for key in raw:
        if key not in _TABLES:
            report.at_key((key,), _unknown_key(key, tuple(_TABLES), "the piece file"))
    for key, kind in _TABLES.items():
        if kind.is_needed and key not in raw:
            header = f"[[{key}]]" if kind.is_list else f"[{key}]"
            summary = f"the piece has no {header} table"
            report.at_value((), Problem("PIECE-003", summary, "no such table", header, f"add a {header} table"))
    standby = _table(raw, "standby", report) if "standby" in raw else StandbyEntry()
    return Draft(
        brief=_table(raw, "brief", report),
        members=_list(raw, "member", report),
        circuits=_list(raw, "circuit", report),
        standby=standby,
        show=_table(raw, "show", report),
        cues=_list(raw, "cue", report),
    )


def _table(raw: Mapping[str, Any], key: str, report: Report) -> Any:
    return _entry(_TABLES[key], raw[key], (key,), report) if key in raw else None


def _list(raw: Mapping[str, Any], key: str, report: Report) -> tuple[Listed[Any], ...]:
    items = raw.get(key, [])
    if not isinstance(items, list):
        report.at_key((key,), wrong_type(items, f"a list of tables, each begun with [[{key}]]", f"[[{key}]]"))
        return (Listed((key,), None, None),)
    listed = []
    for index, item in enumerate(items):
        path = (key, index)
        written = item.get("name") if isinstance(item, dict) else None
        name = written if isinstance(written, str) else None
        listed.append(Listed(path, name, _entry(_TABLES[key], item, path, report)))
    return tuple(listed)


def _entry(kind: _TableKind, raw: Any, path: Path, report: Report) -> Any:
    """Return the entry read, or ``None`` after reporting its problems."""
    if not isinstance(raw, dict):
        report.at_value(path, wrong_type(raw, "a table", f"[{path[0]}]"))
        return None
    try:
        return kind.adapter.validate_python(raw)
    except ValidationError as error:
        for details in error.errors(include_url=False):
            _report(details, kind, raw, path, report)
        return None


def _report(details: ErrorDetails, kind: _TableKind, raw: Any, path: Path, report: Report) -> None:
    """Put one of pydantic's errors into our own words."""
    inner = _without_tags(details["loc"], raw)
    full = (*path, *inner)
    where = details["type"]
    context = details.get("ctx", {})
    if where == "fault":
        for fault in context["faults"]:
            report.fault(full, fault)
    elif where == "missing":
        model = _model_at(kind.model, raw, inner[:-1])
        report.at_value(full[:-1], _missing(str(inner[-1]), _example(model, str(inner[-1])), _title(full[:-1])))
    elif where == "extra_forbidden":
        keys = tuple(field.alias or key for key, field in _model_at(kind.model, raw, inner[:-1]).model_fields.items())
        report.at_key(full, _unknown_key(str(inner[-1]), keys, _title(full[:-1])))
    elif where in ("union_tag_not_found", "union_tag_invalid"):
        tag = context["discriminator"].strip("'")
        _report_tag(tag, _down(raw, inner), full, report)
    elif where == "too_short":
        header = _example(_model_at(kind.model, raw, inner[:-1]), str(inner[-1]))
        report.at_value(full, _missing(str(inner[-1]), header, _title(full[:-1])))
    else:  # a table or list is meant, and something else stands there
        value = _down(raw, inner)
        is_list = where == "list_type"
        allowed = "a list of tables" if is_list else "a table: { key = value, ... }"
        example = f"[[{_title(full)}]]" if is_list else f"{inner[-1] if inner else path[0]} = {{ ... }}"
        report.at_value(full, wrong_type(value, allowed, example))


def _report_tag(tag: str, table: Any, path: Path, report: Report) -> None:
    words = _TAGS[tag]
    if isinstance(table, dict) and tag in table:
        report.at_value((*path, tag), unknown_choice(table[tag], words))
    elif isinstance(table, dict):
        report.at_value(path, _missing(tag, f'"{words[0]}"', _title(path)))
    else:
        report.at_value(path, wrong_type(table, "a table: { key = value, ... }", f'{{ {tag} = "{words[0]}", ... }}'))


def _missing(key: str, example: str, table: str) -> Problem:
    do = f"add a {example} table" if example.startswith("[[") else f"add {key} = {example}"
    return Problem("PIECE-003", f'"{key}" is missing from {table}', f'no "{key}"', f"{key} = {example}", do)


def _unknown_key(key: str, keys: tuple[str, ...], table: str) -> Problem:
    do = did_you_mean(key, keys, "delete it, or use one of the keys allowed")
    return Problem("PIECE-004", f'"{key}" is not a key of {table}', f'"{key}"', quoted_list(keys), do)


def _title(path: Path) -> str:
    """Return a table's name as its header shows it: "circuit.run.section"."""
    return ".".join(str(part) for part in path if isinstance(part, str))


def _down(raw: Any, path: Path) -> Any:
    for part in path:
        raw = raw[part]
    return raw


def _without_tags(loc: Path, raw: Any) -> Path:
    """Drop the words by which pydantic says which of several tables it tried; they are not in the file."""
    path: list[str | int] = []
    for part in loc:
        is_tag = isinstance(raw, dict) and part not in raw and part in (raw.get("shape"), raw.get("pattern"))
        if is_tag:
            continue
        path.append(part)
        if isinstance(raw, dict):
            raw = raw.get(part)
        elif isinstance(raw, list) and isinstance(part, int) and part < len(raw):
            raw = raw[part]
    return tuple(path)


def _model_at(model: Any, raw: Any, path: Path) -> type[BaseModel]:
    """Return the schema's model of the table at ``path`` within an entry."""
    model = _chosen(model, raw)
    for part in path:
        raw = raw[part]
        if isinstance(part, int):
            continue
        fields = {field.alias or key: field for key, field in model.model_fields.items()}
        model = _chosen(fields[part].annotation, raw)
    return model  # type: ignore[no-any-return]


def _chosen(annotation: Any, raw: Any) -> Any:
    """Return the model within an annotation: the one of a list, or the one whose tag word is written."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    models = [model for part in get_args(annotation) for model in _models(part)]
    for model in models:
        for tag in _TAGS:
            if tag in model.model_fields and isinstance(raw, dict):
                words = get_args(model.model_fields[tag].annotation)
                if raw.get(tag) in words:
                    return model
    return models[0]


def _models(annotation: Any) -> list[Any]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for part in get_args(annotation) for model in _models(part)]


def _example(model: type[BaseModel], key: str) -> str:
    """Return a TOML text that a maker could copy for this key."""
    fields = {field.alias or name: field for name, field in model.model_fields.items()}
    field = fields[key]
    if field.examples:
        return str(field.examples[0])
    return next(str(check.func.example) for check in field.metadata if hasattr(check, "func"))
