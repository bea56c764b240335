"""Hold a piece file's entries against the schema, and say everything that is wrong with them."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Generic, TypeVar

from pydantic import TypeAdapter, ValidationError

from lampwright.piece.fields import wrong_type
from lampwright.piece.measures import TABLE, read_measures, with_measures
from lampwright.piece.report import Report
from lampwright.piece.schema import (
    AllowancesEntry,
    AnyMemberEntry,
    BriefEntry,
    CircuitEntry,
    CueEntry,
    MemberEntry,
    ShowEntry,
    StandbyEntry,
    WorkEntry,
)
from lampwright.piece.source import Path
from lampwright.piece.sources import check_written
from lampwright.piece.wording import missing_table, report_errors, unknown_key
from lampwright.units import Problem

EntryT = TypeVar("EntryT")


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
    members: tuple[Listed[AnyMemberEntry], ...]
    circuits: tuple[Listed[CircuitEntry], ...]
    allowances: AllowancesEntry | None
    work: WorkEntry | None
    standby: StandbyEntry | None
    show: ShowEntry | None
    cues: tuple[Listed[CueEntry], ...]


@dataclass(frozen=True)
class TableKind:
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


TABLES = {
    "brief": TableKind(BriefEntry, is_list=False, is_needed=True),
    "member": TableKind(MemberEntry, is_list=True, is_needed=True),
    "circuit": TableKind(CircuitEntry, is_list=True, is_needed=True),
    "allowances": TableKind(AllowancesEntry, is_list=False, is_needed=False),
    "work": TableKind(WorkEntry, is_list=False, is_needed=False),
    "standby": TableKind(StandbyEntry, is_list=False, is_needed=False),
    "show": TableKind(ShowEntry, is_list=False, is_needed=True),
    "cue": TableKind(CueEntry, is_list=True, is_needed=True),
}
"""The tables at the top of a piece file; besides them there is [measures]."""


def validate(raw: Mapping[str, Any], report: Report) -> Draft:
    """Return what fits the schema, and report all that does not."""
    measures = read_measures(raw.get(TABLE, {}), report)
    raw = with_measures({key: value for key, value in raw.items() if key != TABLE}, measures)
    misspelled = {near for key in raw if key not in TABLES for near in _nearest_tables(key)}
    for key in raw:
        if key not in TABLES:
            report.at_key((key,), unknown_key(key, (*TABLES, TABLE), "the piece file"))
    for key, kind in TABLES.items():
        if kind.is_needed and not raw.get(key, key in misspelled):
            report.at_value((), missing_table(key, kind.is_list))
    return Draft(
        brief=_table(raw, "brief", report),
        members=_list(raw, "member", report),
        circuits=_list(raw, "circuit", report),
        allowances=_table(raw, "allowances", report) if "allowances" in raw else AllowancesEntry(),
        work=_table(raw, "work", report) if "work" in raw else WorkEntry(),
        standby=_table(raw, "standby", report) if "standby" in raw else StandbyEntry(),
        show=_table(raw, "show", report),
        cues=_list(raw, "cue", report),
    )


def _nearest_tables(key: str) -> list[str]:
    return difflib.get_close_matches(key, list(TABLES), n=1, cutoff=0.55)


def _table(raw: Mapping[str, Any], key: str, report: Report) -> Any:
    return _entry(TABLES[key], raw[key], (key,), report) if key in raw else None


def _list(raw: Mapping[str, Any], key: str, report: Report) -> tuple[Listed[Any], ...]:
    items = raw.get(key, [])
    if not isinstance(items, list):
        report.at_key((key,), _not_a_list(key))
        return (Listed((key,), None, None),)
    listed = []
    for index, item in enumerate(items):
        path = (key, index)
        written = item.get("name") if isinstance(item, dict) else None
        name = written if isinstance(written, str) else None
        entry = _entry(TABLES[key], item, path, report)
        if key == "circuit" and isinstance(item, dict):
            check_written(item, path, report)
        listed.append(Listed(path, name, entry))
    return tuple(listed)


def _not_a_list(key: str) -> Problem:
    header = f"[[{key}]]"
    return Problem(
        code="PIECE-005",
        summary=f"each {key} is begun with {header}",
        found=f"[{key}] or {key} = ...",
        allowed=f"{header}, once for each {key}",
        do=f"write {header} with two brackets",
    )


def _entry(kind: TableKind, raw: Any, path: Path, report: Report) -> Any:
    """Return the entry read, or ``None`` after reporting its problems."""
    if not isinstance(raw, dict):
        header = f"[[{path[0]}]]" if kind.is_list else f"[{path[0]}]"
        report.at_value(path, wrong_type(raw, "a table", f"{header} on a line of its own"))
        return None
    try:
        return kind.adapter.validate_python(raw)
    except ValidationError as error:
        report_errors(error.errors(include_url=False), kind.model, raw, path, report)
        return None
