"""The form for after the show, on paper: the very rows of the form that is read back."""

from __future__ import annotations

from lampwright.faults import embody
from lampwright.layout.model import Layout
from lampwright.strike import form_rows, hows


def inspection(layout: Layout) -> dict[str, object]:
    """Return what is looked at, circuit by circuit and then the members, and how each sort can have failed."""
    rows = form_rows(layout, embody(layout))
    names = list(dict.fromkeys(row.circuit for row in rows))
    groups = [(name or "members", [(row.thing, row.sort) for row in rows if row.circuit == name]) for name in names]
    there = {row.sort for row in rows}
    ways = [(sort, ", ".join(ways)) for sort, ways in hows().items() if sort in there]
    return {"groups": groups, "ways": ways}
