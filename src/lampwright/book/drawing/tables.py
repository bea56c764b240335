"""The tables that go with the views: circuits, sections, feeds, spans and members, row by row."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lampwright.book.drawing.dimensions import millimetres
from lampwright.book.drawing.sheet import FINE, HEADING, TEXT, THIN, Box, Sheet, Style, shortened, text_width
from lampwright.book.drawing.subject import StripLine, Subject, letter
from lampwright.layout.model import Layout
from lampwright.piece.model import Cable, Member
from lampwright.units import format_quantity

_ROW, _HEAD = 3.9, 7.5  # [mm]
_BETWEEN = 6.0  # between a page's columns [mm]
_CELL_GAP = 2.0  # [mm]

Row = Sequence[str]


@dataclass(frozen=True)
class Table:
    """A title, the names of the columns, and the rows."""

    title: str
    head: Row
    rows: Sequence[Row]


def tables_of(layout: Layout, subject: Subject) -> tuple[Table, ...]:
    """Return all tables of a piece that have rows; lengths in millimetres unless they carry a unit."""
    circuits = [
        (
            letter(number),
            each.circuit.name,
            str(each.n_pixel),
            each.circuit.source_title,
            _cable(each.circuit.wiring.lead),
        )
        for number, each in enumerate(layout.circuits)
    ]
    sections = [
        (
            strip.label,
            strip.run.run.name,
            strip.section.section.name,
            _pixels(strip),
            str(strip.section.n_pixel),
            millimetres(strip.section.length),
            millimetres(strip.section.room - strip.section.length),
        )
        for strip in subject.strips
    ]
    spans = [
        (span.label, millimetres(span.width), millimetres(span.sag), millimetres(span.lowest)) for span in subject.spans
    ]
    feeds = [
        (
            letter(number),
            run.run.name,
            f"{100 * feed.at:.4g} %",
            str(min(run.n_pixel - 1, round(feed.at * run.n_pixel))),
            _cable(feed.cable),
        )
        for number, circuit in enumerate(layout.circuits)
        for run in circuit.runs
        for feed in run.run.feeds
    ]
    members = [_member_row(each.member) for each in subject.members]
    tables = (
        Table("Circuits", ("", "circuit", "pixels", layout.piece.sources_noun, "lead"), circuits),
        Table("Sections", ("", "run", "along", "its pixels", "count", "strip", "left dark"), sections),
        Table("Spans", ("", "span", "sag", "lowest point"), spans),
        Table("Feeds", ("", "run", "at", "pixel", "cable"), feeds),
        Table("Members", ("member", "x", "y", "z", "turned", "tube", "stands on"), members),
    )
    return tuple(table for table in tables if table.rows)


def set_tables(tables: Iterable[Table], sheet: Sheet, room: Box) -> list[Table]:
    """Write as much of the tables as a sheet holds, column by column; return what is left."""
    waiting = list(tables)
    widest = max(sum(_needs(table)) for table in waiting)
    n_column = max(1, int((room.width + _BETWEEN) / (widest + _BETWEEN)))
    width = (room.width - _BETWEEN * (n_column - 1)) / n_column
    for number in range(n_column):
        left = room.left + number * (width + _BETWEEN)
        y = room.top
        while waiting:
            table = waiting[0]
            fits = int((room.bottom - y - _HEAD - _ROW) / _ROW)
            if fits < min(3, len(table.rows)):
                break
            _set(sheet, table, table.rows[:fits], left, y, width)
            y += _HEAD + _ROW * (min(fits, len(table.rows)) + 1.2)
            if fits < len(table.rows):
                title = table.title.removesuffix(", continued") + ", continued"
                waiting[0] = Table(title, table.head, table.rows[fits:])
                break
            waiting.pop(0)
    return waiting


def _set(sheet: Sheet, table: Table, rows: Sequence[Row], left: float, top: float, width: float) -> None:
    widths = _widths(table, width)
    sheet.text((left, top + 3.6), table.title, HEADING, bold=True)
    y = top + _HEAD
    for cells in (table.head, *rows):
        x = left
        for cell, wide in zip(cells, widths, strict=True):
            if cell:
                sheet.text((x, y), shortened(cell, TEXT, wide - _CELL_GAP))
            x += wide
        is_head = cells is table.head
        sheet.line(
            [(left, y + 1.0), (left + width, y + 1.0)], Style(THIN if is_head else FINE, "#000" if is_head else "#bbb")
        )
        y += _ROW


def _widths(table: Table, width: float) -> list[float]:
    """Return columns as wide as they need, the widest of them narrowed until all fit. [mm]"""
    needs = _needs(table)
    while sum(needs) > width:
        needs[needs.index(max(needs))] -= min(5.0, sum(needs) - width)
    return needs


def _needs(table: Table) -> list[float]:
    """Return how wide each column must be for its longest cell. [mm]"""
    rows = (table.head, *table.rows)
    return [max(text_width(row[column], TEXT) for row in rows) + _CELL_GAP for column in range(len(table.head))]


def _member_row(member: Member) -> Row:
    support = member.support
    stands = ""
    if support.base is not None:
        base = support.base
        stands = f"{format_quantity(base.mass, 'mass')}, {base.legs} legs of {millimetres(base.reach)}"
    elif support.socket is not None:
        stands = f"socket, {millimetres(support.socket)} deep"
    x, y, z = (millimetres(each) for each in member.position)
    tube = "not stated" if support.tube is None else support.tube.title
    return member.name, x, y, z, f"{math.degrees(member.turn) % 360:.4g}°", tube, stands


def _pixels(strip: StripLine) -> str:
    """Return a section's first and last pixel, counted from 0 in its run."""
    first = strip.section.first - strip.run.first
    return f"{first} to {first + strip.section.n_pixel - 1}"


def _cable(cable: Cable) -> str:
    return f"{format_quantity(cable.length, 'length')} of {cable.wire.name}"
