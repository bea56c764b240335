"""Wires and joints as lists: CSV for any program, rows for the book."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from lampwright.making import Harness, JointRow, gauge_text
from lampwright.units import format_quantity

WIRE_HEADER = ("circuit", "wire", "what", "gauge", "colours", "fuse", "from", "to", "length", "cut")
JOINT_HEADER = (
    "circuit",
    "joint",
    "where",
    "metre",
    "before pixel",
    "solder joints",
    "what is joined",
    "gauge",
    "sleeve",
)


def wire_rows(harness: Harness) -> list[tuple[str, ...]]:
    """Return the wires of a circuit as texts: mark, what, gauge, colours, fuse, from, to, length, cut."""
    return [
        (
            wire.mark,
            wire.label.removeprefix(f"{harness.circuit} "),
            gauge_text(wire.gauges),
            ", ".join(colour for _, colour in wire.strands),
            "" if wire.fuse is None else f"{wire.fuse.mark} {wire.fuse.fuse.rating.text}",
            wire.start,
            wire.end,
            format_quantity(wire.way, "length"),
            format_quantity(wire.cut, "length"),
        )
        for wire in harness.wires
    ]


def joint_rows(harness: Harness) -> list[tuple[str, ...]]:
    """Return the joints of a circuit as texts: mark, where, metre, pixel, count, what is joined, gauge, sleeve."""
    return [_joint(row) for row in harness.joints]


def wires_csv(harnesses: Sequence[Harness]) -> str:
    """Return all wires as CSV."""
    return _csv(WIRE_HEADER, ((each.circuit, *row) for each in harnesses for row in wire_rows(each)))


def joints_csv(harnesses: Sequence[Harness]) -> str:
    """Return all joints as CSV."""
    return _csv(JOINT_HEADER, ((each.circuit, *row) for each in harnesses for row in joint_rows(each)))


def _joint(row: JointRow) -> tuple[str, ...]:
    is_on_run = bool(row.run)
    return (
        row.mark,
        row.where,
        format_quantity(row.metre, "length") if is_on_run else "",
        str(row.pixel) if is_on_run else "",
        str(row.count),
        "; ".join(row.joins),
        gauge_text(row.gauges) if row.gauges else "pads",
        format_quantity(row.sleeve, "length") if row.sleeve else "none",
    )


def _csv(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(rows)
    return text.getvalue()
