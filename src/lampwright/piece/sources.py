"""What feeds a circuit: packs or a supply from the mains, never both; and what goes with which."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from typing import Any

from lampwright.parts import Pack, Supply
from lampwright.piece.model import Circuit, FixedSection, Member, SpanSection, Staff
from lampwright.piece.packs import check_bank
from lampwright.piece.report import Report
from lampwright.piece.schema import CircuitEntry
from lampwright.piece.source import Path
from lampwright.units import Problem

OF_PACKS = ("packs", "joined", "diode", "port", "pack_cycles", "other_ports", "keep_awake", "pack_droop")
"""Keys of a circuit that mean something with packs alone."""


def check_written(raw: Mapping[str, Any], path: Path, report: Report) -> None:
    """Check that a circuit, as written, names a pack or a supply, and no keys that go with the other."""
    if "pack" in raw and "supply" in raw:
        report.at_key((*path, "supply"), _both())
    elif "pack" not in raw and "supply" not in raw:
        if not any(_is_slip(key) for key in raw):
            report.at_value(path, _neither(report.title(path)))
    elif "supply" in raw:
        for key in OF_PACKS:
            if key in raw:
                report.at_key((*path, key), _of_packs(key))
    elif "outlet" in raw:
        report.at_key((*path, "outlet"), _of_supplies())


def _is_slip(key: str) -> bool:
    """Return whether a key is a misspelled "pack" or "supply": then neither is missing too."""
    is_known = key in CircuitEntry.model_fields
    return not is_known and bool(difflib.get_close_matches(key, ("pack", "supply"), n=1, cutoff=0.55))


def source_of(entry: CircuitEntry) -> Pack | Supply | None:
    """Return what feeds an entry's circuits; ``None`` where :func:`check_written` has said what is wrong."""
    if entry.pack is not None and entry.supply is not None:
        return None
    return entry.pack if entry.supply is None else entry.supply


def check_source(entry: CircuitEntry, path: Path, report: Report) -> None:
    """Check a circuit's packs, if packs feed it."""
    if entry.pack is not None and entry.supply is None:
        check_bank(entry, entry.pack, path, report)


def outlet_of(entry: CircuitEntry, number: int) -> str:
    """Return the outlet of an entry's circuit, by its number from 0 within it; empty where packs feed it."""
    if entry.supply is None:
        return ""
    return entry.outlet if isinstance(entry.outlet, str) else entry.outlet[number % len(entry.outlet)]


def check_not_carried(circuit: Circuit, path: Path, report: Report) -> None:
    """Check that nobody carries what hangs on a mains lead."""
    if not circuit.is_on_mains:
        return
    staff = next((each for each in _members(circuit) if isinstance(each.shape, Staff)), None)
    if staff is not None:
        report.at_key((*path, "supply"), _carried(staff.name))


def _members(circuit: Circuit) -> list[Member]:
    found: list[Member] = []
    for run in circuit.runs:
        for section in run.sections:
            match section:
                case FixedSection():
                    found.append(section.member)
                case SpanSection():
                    found += [section.start.member, section.end.member]
    return found


def _both() -> Problem:
    return Problem(
        code="PIECE-031",
        summary="packs or a supply feed a circuit, not both",
        found='both "pack" and "supply"',
        allowed='either pack = "..." or supply = "..."',
        do="delete one of the two; a second circuit can take the other",
    )


def _neither(table: str) -> Problem:
    return Problem(
        code="PIECE-003",
        summary=f'"pack" is missing from {table}',
        found='no "pack", and no "supply" from the mains either',
        allowed='the name of a pack of the catalogue, such as "pack-20ah-2a4", or of a supply, such as "supply-10a"',
        do='add pack = "pack-20ah-2a4", or supply = "supply-10a"',
    )


def _of_packs(key: str) -> Problem:
    return Problem(
        code="PIECE-031",
        summary=f'"{key}" has no meaning here: a supply feeds this circuit',
        found=f'"{key}"',
        allowed=f'{key} together with pack = "..."',
        do=f"delete {key}, or feed the circuit from a pack",
    )


def _of_supplies() -> Problem:
    return Problem(
        code="PIECE-031",
        summary='"outlet" has no meaning here: packs feed this circuit',
        found='"outlet"',
        allowed='outlet together with supply = "..."',
        do="delete outlet, or feed the circuit from a supply",
    )


def _carried(name: str) -> Problem:
    return Problem(
        code="PIECE-032",
        summary=f'"{name}" is carried: it can\'t hang on the mains',
        found='"supply" in a circuit of a staff',
        allowed='pack = "..." for everything that a person carries',
        do='write pack = "pack-20ah-2a4" in place of supply',
    )
