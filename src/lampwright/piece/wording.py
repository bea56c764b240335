"""Say in a maker's words what pydantic finds wrong with an entry's shape; its own wording never shows."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from typing import Any, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from lampwright.piece.fields import Checker, unknown_choice, wrong_type
from lampwright.piece.report import Report, did_you_mean, quoted_list
from lampwright.piece.source import Path
from lampwright.units import Problem

TAGS = {
    "shape": ("hoop", "straight", "arc", "bent", "staff"),
    "pattern": ("row", "ring", "grid", "path", "mirrored"),
}
"""Keys whose word decides which other keys a table takes."""

_TABLE = "a table { key = value, ... }"


def report_errors(errors: Sequence[ErrorDetails], model: Any, raw: Any, path: Path, report: Report) -> None:
    """Report all errors of one entry, the ``raw`` value at ``path``, held against ``model``."""
    is_tagged = not _is_model(model)
    located = [(error, _without_tags(error["loc"], is_tagged)) for error in errors]
    slips = {
        (*inner[:-1], near)
        for error, inner in located
        if error["type"] == "extra_forbidden" and (near := _nearest_key(inner, model, raw)) is not None
    }
    for error, inner in located:
        # A key that was only misspelled is not missing too.
        if error["type"] == "missing" and inner in slips:
            continue
        _report(error, inner, model, raw, path, report)


def unknown_key(key: str, keys: Sequence[str], table: str) -> Problem:
    """Return the problem of a key that ``table`` doesn't have."""
    do = did_you_mean(key, keys, "delete it, or use one of the keys allowed")
    return Problem("PIECE-004", f'"{key}" is not a key of {table}', f'"{key}"', quoted_list(keys), do)


def missing_table(key: str, is_list: bool) -> Problem:
    """Return the problem of a table that every piece must have."""
    header = f"[[{key}]]" if is_list else f"[{key}]"
    allowed = f"at least one {header} table" if is_list else f"one {header} table"
    return Problem("PIECE-003", f"the piece has no {header} table", f"no {header}", allowed, f"add a {header} table")


def _report(error: ErrorDetails, inner: Path, model: Any, raw: Any, path: Path, report: Report) -> None:
    full = (*path, *inner)
    kind = error["type"]
    if kind == "fault":
        for fault in error["ctx"]["faults"]:
            report.fault(full, fault)
    elif kind in ("missing", "too_short"):
        field = fields_of(model_at(model, raw, inner[:-1]))[str(inner[-1])]
        report.at_value(full[:-1], _missing(str(inner[-1]), field, report.title(full[:-1])))
    elif kind == "extra_forbidden":
        keys = tuple(fields_of(model_at(model, raw, inner[:-1])))
        report.at_key(full, unknown_key(str(inner[-1]), keys, report.title(full[:-1])))
    elif kind in ("union_tag_not_found", "union_tag_invalid"):
        _report_tag(error["ctx"]["discriminator"].strip("'"), _down(raw, inner), full, report)
    elif kind == "list_type":
        header = f"[[{'.'.join(str(part) for part in full if isinstance(part, str))}]]"
        report.at_value(full, wrong_type(_down(raw, inner), f"a list of tables, each begun with {header},", header))
    else:  # another value where a table is meant
        key = full[-1] if isinstance(full[-1], str) else full[-2]
        report.at_value(full, wrong_type(_down(raw, inner), _TABLE, f"{key} = {{ ... }}"))


def _report_tag(tag: str, table: Any, path: Path, report: Report) -> None:
    """Report a table whose deciding word is missing or unknown, or that is no table."""
    words = TAGS[tag]
    example = f'{tag} = "{words[0]}"'
    if not isinstance(table, Mapping):
        report.at_value(path, wrong_type(table, _TABLE, f"{path[-1]} = {{ {example}, ... }}"))
    elif tag in table:
        report.at_value((*path, tag), unknown_choice(table[tag], words))
    else:
        summary = f'"{tag}" is missing from {report.title(path)}'
        report.at_value(path, Problem("PIECE-003", summary, f'no "{tag}"', quoted_list(words), f"add {example}"))


def _missing(key: str, field: FieldInfo, table: str) -> Problem:
    checker = checker_of(field)
    if checker is not None:
        allowed, do = f"{checker.meant}, such as {checker.example}", f"add {key} = {checker.example}"
    else:
        example = str((field.examples or [""])[0])
        is_header = example.startswith("[[")
        allowed = f"at least one {example} table" if is_header else example
        do = f"add a {example} table" if is_header else f"add {key} = {example}"
    return Problem("PIECE-003", f'"{key}" is missing from {table}', f'no "{key}"', allowed, do)


def _nearest_key(inner: Path, model: Any, raw: Any) -> str | None:
    keys = list(fields_of(model_at(model, raw, inner[:-1])))
    near = difflib.get_close_matches(str(inner[-1]), keys, n=1, cutoff=0.55)
    return near[0] if near else None


def _without_tags(loc: Path, is_tagged: bool) -> Path:
    """Drop the words by which pydantic says which of several tables it tried; they are not in the file."""
    path: list[str | int] = []
    is_tag_next = is_tagged
    for part in loc:
        if is_tag_next:
            is_tag_next = False
            continue
        path.append(part)
        is_tag_next = part == "repeat"
    return tuple(path)


def _down(raw: Any, path: Path) -> Any:
    for part in path:
        raw = raw[part]
    return raw


def _is_model(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)


def fields_of(model: type[BaseModel]) -> dict[str, FieldInfo]:
    """Return a table's keys as they are written in the file."""
    return {field.alias or key: field for key, field in model.model_fields.items()}


def checker_of(field: FieldInfo) -> Checker | None:
    return next((mark.func for mark in field.metadata if isinstance(getattr(mark, "func", None), Checker)), None)


def model_at(model: Any, raw: Any, path: Path) -> type[BaseModel]:
    """Return the schema's model of the table at ``path`` within an entry."""
    chosen = _chosen(model, raw)
    for part in path:
        raw = raw[part]
        if isinstance(part, str):
            field = fields_of(chosen)[part]
            chosen = _chosen(field.annotation, raw)
    return chosen


def _chosen(annotation: Any, raw: Any) -> type[BaseModel]:
    """Return the model within an annotation; of several, the one whose deciding word is written."""
    models = models_in(annotation)
    for model in models:
        for tag in TAGS:
            is_written = isinstance(raw, Mapping) and tag in model.model_fields
            if is_written and raw.get(tag) in get_args(model.model_fields[tag].annotation):
                return model
    return models[0]


def models_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for part in get_args(annotation) for model in models_in(part)]
