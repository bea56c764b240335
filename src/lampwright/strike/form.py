"""The inspection form: a row for each thing of a piece that can have failed, to be filled with pen or keyboard."""

from __future__ import annotations

import csv
import difflib
import io
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path

from lampwright.faults.every import Body, spans
from lampwright.layout import CircuitLayout, Layout
from lampwright.layout.transitions import transitions
from lampwright.piece.model import Circuit
from lampwright.stock import Failure
from lampwright.units import format_quantity
from lampwright.units.lists import ListTable, Row

CODE = "STRIKE-001"

COLUMNS = ("circuit", "thing", "sort", "failed", "at", "minute", "photo", "note")
"""Of the form; "failed" stays empty where nothing did."""


@dataclass(frozen=True)
class FormRow:
    """One thing to look at."""

    circuit: str
    """Empty for members."""
    thing: str
    """Such as "hoop on arch 1, pixels 0 to 359", "joint of hoop at 50 %"."""
    sort: str
    """One of the tables of ``hows.toml``."""
    run: str = ""
    """Of strip: the run that it is part of."""
    first: int = 0
    """Of strip: its first pixel within the run."""
    n_pixel: int = 0


def form_rows(layout: Layout, body: Body) -> tuple[FormRow, ...]:
    """Return everything of a piece that is looked at after the show, circuit by circuit, then the members."""
    rows = [
        row
        for circuit, anatomy in zip(layout.circuits, body.anatomies, strict=True)
        for row in (*_circuit_rows(circuit), *_span_rows(circuit.circuit.name, list(spans(anatomy))))
    ]
    for member in layout.piece.members:
        rows.append(FormRow("", member.name, "member"))
        rows.append(FormRow("", f"ties and tape on {member.name}", "fixing"))
    return tuple(rows)


def packs_of(circuit: Circuit) -> tuple[str, ...]:
    """Return what the form calls the packs of a circuit."""
    count = circuit.bank.count
    return ("pack",) if count == 1 else tuple(f"pack {number}" for number in range(1, count + 1))


def _circuit_rows(circuit: CircuitLayout) -> Iterator[FormRow]:
    name = circuit.circuit.name
    for thing, sort in (
        *((thing, "pack") for thing in packs_of(circuit.circuit)),
        ("plugs", "plug"),
        ("lead and wires", "lead"),
        ("board", "board"),
        ("start", "start"),
    ):
        yield FormRow(name, thing, sort)
    for run in circuit.runs:
        for section in run.sections:
            first = section.first - run.first
            thing = f"{run.run.name}, {section.section.name}, pixels {first} to {first + section.n_pixel - 1}"
            yield FormRow(name, thing, "strip", run.run.name, first, section.n_pixel)
        for joint in run.run.joints:
            yield FormRow(name, f"joint of {run.run.name} at {100 * joint.at:.4g} %", "joint")
        for feed in run.run.feeds:
            yield FormRow(name, f"feed of {run.run.name} at {100 * feed.at:.4g} %", "feed")
    for each in transitions(circuit):
        yield FormRow(name, f"{each.run}, from {each.before} to {each.after}", "joint")


def _span_rows(circuit: str, names: Sequence[str]) -> Iterator[FormRow]:
    for name in names:
        yield FormRow(circuit, f"span {name}", "span")


@cache
def hows() -> Mapping[str, Mapping[str, str]]:
    """Return by sort of thing how it can have failed, and the kind of fault that this is."""
    text = resources.files("lampwright.strike").joinpath("hows.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def form_csv(rows: Sequence[FormRow]) -> str:
    """Return the form to be filled: the column "failed" stays empty where nothing did."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows([[row.circuit, row.thing, row.sort, "", "", "", "", ""] for row in rows])
    return text.getvalue()


def pitches_of(layout: Layout) -> dict[tuple[str, str], float]:
    """Return from pixel to pixel, by circuit and run. [m]"""
    return {
        (circuit.circuit.name, run.run.name): 1.0 / run.run.strip.density.value
        for circuit in layout.circuits
        for run in circuit.runs
    }


@dataclass(frozen=True)
class FormFailure:
    """A thing that had failed, as the form says."""

    row: FormRow
    failure: Failure
    pixel: int | None
    """Of strip: the pixel of its run at which it failed; ``None``: the whole of it."""


def read_form(path: Path, rows: Sequence[FormRow], pitches: Mapping[tuple[str, str], float]) -> tuple[FormFailure, ...]:
    """Return what a filled form says has failed.

    "at" says where on the strip: a pixel of the run ("137") or a place along it ("2.3 m").

    Parameters
    ----------
    pitches
        From pixel to pixel, by circuit and run. [m]

    Raises
    ------
    MakerError
        STRIKE-001 with all that can't be read, each at its line and column.
    """
    table = ListTable(path, COLUMNS, CODE)
    known = {(row.circuit, row.thing): row for row in rows}
    found = []
    for row in table:
        if row[1].get("failed"):
            failure = _failure(table, row, known, pitches)
            if failure is not None:
                found.append(failure)
    table.finish()
    return tuple(found)


def _failure(
    table: ListTable,
    row: Row,
    known: Mapping[tuple[str, str], FormRow],
    pitches: Mapping[tuple[str, str], float],
) -> FormFailure | None:
    line, cells = row
    circuit, thing, how = cells.get("circuit", ""), cells.get("thing", ""), cells["failed"]
    of = known.get((circuit, thing))
    if of is None:
        near = difflib.get_close_matches(thing, [each for _, each in known], n=1, cutoff=0.4)
        do = f'did you mean "{near[0]}"?' if near else "take the form that lampwright strike writes for this piece"
        table.fault(line, thing, "this piece has no such thing", f'"{thing}"', do, "the things of the form")
        return None
    ways = hows()[of.sort]
    if how not in ways:
        near = difflib.get_close_matches(how, ways, n=1, cutoff=0.4)
        do = f'did you mean "{near[0]}"?' if near else "write one of these"
        allowed = ", ".join(f'"{way}"' for way in ways)
        table.fault(line, how, f"a {of.sort} doesn't fail like this", f'"{how}"', do, allowed)
        return None
    pixel = _pixel(table, row, of, pitches)
    at = None if pixel is None else pixel * pitches[circuit, of.run]
    minute = _minute(table, row)
    kind = ways[how] or how.replace(" ", "-")
    failure = Failure(kind, circuit, thing, at, how, minute, cells.get("photo", ""), cells.get("note", ""))
    return FormFailure(of, failure, pixel)


def _pixel(table: ListTable, row: Row, of: FormRow, pitches: Mapping[tuple[str, str], float]) -> int | None:
    """Return the pixel of the run at which strip failed; ``None`` where the form doesn't say."""
    text = row[1].get("at", "")
    if not text or of.sort != "strip":
        return None
    if text.isascii() and text.isdigit():
        pixel = int(text)
    else:
        allowed = 'a pixel of the run such as "137", or a place along it such as "2.3 m"'
        metres = table.quantity(row, "at", "length", allowed)
        if metres is None:
            return None
        pixel = int(metres / pitches[of.circuit, of.run] + 1e-6)
    last = of.first + of.n_pixel - 1
    if not of.first <= pixel <= last:
        pitch = pitches[of.circuit, of.run]
        span = f"{format_quantity(of.first * pitch, 'length')} to {format_quantity((last + 1) * pitch, 'length')}"
        allowed = f"pixels {of.first} to {last}, {span}"
        table.fault(row[0], text, "this isn't on that strip", f'"{text}"', "count from the head of the run", allowed)
        return None
    return pixel


def _minute(table: ListTable, row: Row) -> float | None:
    text = row[1].get("minute", "")
    if not text:
        return None
    if text.isascii() and text.isdigit() and len(text) <= 5:
        return float(text)
    do, allowed = "write whole minutes after switching on", 'such as "95"'
    table.fault(row[0], text, "these are no minutes", f'"{text}"', do, allowed)
    return None
