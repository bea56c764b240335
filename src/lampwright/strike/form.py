"""The inspection form: a row for each thing of a piece that can have failed, to be filled with pen or keyboard."""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path

from lampwright.faults.every import Body, spans
from lampwright.faults.kinds import Place
from lampwright.layout import CircuitLayout, Layout
from lampwright.layout.model import RunLayout, SectionLayout
from lampwright.layout.transitions import transitions
from lampwright.piece.model import Circuit, SpanSection
from lampwright.power import outlets_of
from lampwright.stock import Failure
from lampwright.units import format_quantity

COLUMNS = ("circuit", "thing", "sort", "failed", "at", "minute", "photo", "note")
"""Of the form; "failed" stays empty, or says "sound", where nothing did."""

SOUND = "sound"
"""What "failed" says of a thing that somebody has looked at and found whole."""

Thing = tuple[str, str]
"""Circuit and thing, by which a row of the form is known."""


@dataclass(frozen=True)
class FormRow:
    """One thing to look at."""

    circuit: str
    """Empty for members and mains outlets."""
    thing: str
    """Such as "hoop on arch 1, pixels 0 to 359", "joint of hoop at 50 %"."""
    sort: str
    """One of the tables of ``hows.toml``."""
    run: str = ""
    """Of strip: the run that it is part of."""
    first: int = 0
    """Of strip: its first pixel within the run."""
    n_pixel: int = 0
    place: Place | None = None
    """Of strip, joints and spans: where on the run they are."""

    @property
    def key(self) -> Thing:
        """By which the row is known."""
        return self.circuit, self.thing


@dataclass(frozen=True)
class Entry:
    """What somebody wrote of one thing: the cells of its row, as written."""

    failed: str = ""
    """A way to fail, or "sound"; empty: nobody has said."""
    at: str = ""
    minute: str = ""
    photo: str = ""
    note: str = ""


Entries = Mapping[Thing, Sequence[Entry]]
"""What is written of each thing: nothing yet, or several where it failed in several ways or places."""


@dataclass(frozen=True)
class Form:
    """What is looked at on one piece, and what it takes to read what somebody wrote of it."""

    rows: tuple[FormRow, ...]
    pitches: Mapping[Thing, float]
    """From pixel to pixel, by circuit and run. [m]"""
    folder: Path
    """The piece's own, in which its photos are."""


def form_of(layout: Layout, body: Body) -> Form:
    """Return the form of a piece."""
    pitches = {
        (circuit.circuit.name, run.run.name): 1.0 / run.run.strip.density.value
        for circuit in layout.circuits
        for run in circuit.runs
    }
    return Form(form_rows(layout, body), pitches, layout.piece.file.parent)


def form_rows(layout: Layout, body: Body) -> tuple[FormRow, ...]:
    """Return everything of a piece that is looked at after the show, circuit by circuit, then outlets and members."""
    rows = [
        row
        for circuit, anatomy in zip(layout.circuits, body.anatomies, strict=True)
        for row in (*_circuit_rows(circuit), *_span_rows(circuit.circuit.name, list(spans(anatomy))))
    ]
    rows += [FormRow("", f"outlet {each.name}", "outlet") for each in outlets_of(layout.piece.circuits)]
    for member in layout.piece.members:
        rows.append(FormRow("", member.name, "member"))
        rows.append(FormRow("", f"ties and tape on {member.name}", "fixing"))
    return tuple(rows)


def sources_of(circuit: Circuit) -> tuple[str, ...]:
    """Return what the form calls the packs, or the supply, of a circuit."""
    count = circuit.bank.count
    if circuit.is_on_mains:
        return ("supply",)
    return ("pack",) if count == 1 else tuple(f"pack {number}" for number in range(1, count + 1))


def _circuit_rows(circuit: CircuitLayout) -> Iterator[FormRow]:
    name = circuit.circuit.name
    for thing, sort in (
        *((thing, circuit.circuit.source_noun) for thing in sources_of(circuit.circuit)),
        ("plugs", "plug"),
        ("lead and wires", "supply lead" if circuit.circuit.is_on_mains else "lead"),
        ("board", "board"),
        ("start", "start"),
    ):
        yield FormRow(name, thing, sort)
    for run in circuit.runs:
        for section in run.sections:
            first = section.first - run.first
            thing = f"{run.run.name}, {section.section.name}, pixels {first} to {first + section.n_pixel - 1}"
            yield FormRow(name, thing, "strip", run.run.name, first, section.n_pixel, _stretch(section))
        for joint in run.run.joints:
            yield FormRow(
                name, f"joint of {run.run.name} at {100 * joint.at:.4g} %", "joint", place=_joint_place(run, joint.at)
            )
        for feed in run.run.feeds:
            yield FormRow(name, f"feed of {run.run.name} at {100 * feed.at:.4g} %", "feed")
    for each in transitions(circuit):
        yield FormRow(name, f"{each.run}, from {each.before} to {each.after}", "joint", place=Place.TRANSITION)


def _stretch(section: SectionLayout) -> Place:
    return Place.FREE if isinstance(section.section, SpanSection) else Place.FIXED


def _joint_place(run: RunLayout, share: float) -> Place:
    """Return the place of a joint: that of the section it lies in, unless it is where that section begins."""
    pixel = run.first + min(round(share * run.n_pixel), run.n_pixel - 1)
    section = next(each for each in run.sections if each.first <= pixel < each.first + each.n_pixel)
    return Place.TRANSITION if run.first < pixel == section.first else _stretch(section)


def _span_rows(circuit: str, names: Sequence[str]) -> Iterator[FormRow]:
    for name in names:
        yield FormRow(circuit, f"span {name}", "span", place=Place.FREE)


@cache
def hows() -> Mapping[str, Mapping[str, str]]:
    """Return by sort of thing how it can have failed, and the kind of fault that this is."""
    text = resources.files("lampwright.strike").joinpath("hows.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def form_csv(rows: Sequence[FormRow], entries: Entries | None = None) -> str:
    """Return the form as a CSV file: to be filled, or as far as it is filled."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for row in rows:
        for each in (entries or {}).get(row.key) or [Entry()]:
            writer.writerow(
                [row.circuit, row.thing, row.sort, each.failed, each.at, each.minute, each.photo, each.note]
            )
    return text.getvalue()


@dataclass(frozen=True)
class FormFailure:
    """A thing that had failed, as the form says."""

    row: FormRow
    failure: Failure
    pixel: int | None
    """Of strip: the pixel of its run at which it failed; ``None``: the whole of it."""

    def told(self) -> str:
        """Return it in a few words, such as "arch 1, hoop, pixels 0 to 345: dead pixel at pixel 20"."""
        where = f"{self.row.circuit}, " if self.row.circuit else ""
        minute = "" if self.failure.minute is None else f", minute {self.failure.minute:g}"
        return f"{where}{self.row.thing}: {self.failure.how}{self.place()}{minute}"

    def place(self) -> str:
        """Return where, such as " at pixel 20" or " at 1.2 m"; empty where nobody has said."""
        if self.pixel is not None:
            return f" at pixel {self.pixel}"
        return "" if self.failure.at is None else f" at {format_quantity(self.failure.at, 'length')}"
