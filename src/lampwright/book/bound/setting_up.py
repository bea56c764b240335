"""The order of setting up: what stands before what hangs, what hangs before what is plugged in."""

from __future__ import annotations

import math
from collections.abc import Iterable

from lampwright.layout.model import Layout
from lampwright.piece.model import Member, SpanSection
from lampwright.rigging import take_down_gust
from lampwright.units import format_quantity


def setting_up(layout: Layout) -> list[tuple[str, list[str]]]:
    """Return the steps under their headings, each to be ticked."""
    piece = layout.piece
    gust = math.floor(take_down_gust(layout) + 1e-9)
    spread = format_quantity(piece.standby.switch_on_spread, "time")
    standby = format_quantity(piece.brief.standby, "time")
    spans = list(_spans(layout))
    packs = [circuit for circuit in piece.circuits for _ in range(circuit.bank.count)]
    return [
        (
            "Before",
            [
                f"Forecast read: below gusts of {gust} m/s ({math.floor(3.6 * gust)} km/h) until it is down again, "
                "no storm warning. Otherwise it isn't put up.",
                "Place walked: ground firm, exits clear, nothing overhead that carries current. Who decides: "
                "........................................",
                f"Counted out: {len(packs)} packs, full; {len(piece.circuits)} boards; {len(piece.members)} members; "
                "spare parts, meter, tape, light.",
            ],
        ),
        ("Stand", [f"{_standing(member)}" for member in piece.members]),
        *([("Hang", spans)] if spans else []),
        (
            "Connect",
            [
                f"{circuit.name}: board and pack in place, dry, off the ground; drip loops; connectors screwed home; "
                "arrows point away from the board."
                for circuit in piece.circuits
            ],
        ),
        (
            "Switch on",
            [
                f"All within {spread}, in this order: {', '.join(circuit.name for circuit in piece.circuits)}.",
                f"Each shows as many lit pixels as minutes left of {standby}; one that doesn't: handover card, back.",
                "Switched on at ............ The run sheet's times count from there.",
                "Walked around once in the dark: nothing to trip over, nothing loose, nobody dazzled.",
            ],
        ),
    ]


def _standing(member: Member) -> str:
    x, y, z = (format_quantity(each, "length", 3) if abs(each) > 1e-9 else "0 m" for each in member.position)
    support = member.support
    held = []
    if support.base is not None:
        mass, reach = format_quantity(support.base.mass, "mass"), format_quantity(support.base.reach, "length")
        held.append(f"base {mass} on {support.base.legs} legs of {reach}")
    if support.socket is not None:
        held.append(f"{format_quantity(support.socket, 'length')} deep in its socket")
    turned = f", turned {format_quantity(member.turn, 'angle')}" if abs(member.turn) > 1e-9 else ""
    return f"{member.name}: at {x}, {y}, {z}{turned}" + (f"; {', '.join(held)}" if held else "")


def _spans(layout: Layout) -> Iterable[str]:
    for circuit in layout.circuits:
        for run in circuit.runs:
            for section in run.sections:
                span = section.section
                if isinstance(span, SpanSection):
                    link = span.hold.weak_link
                    told = f"; weak link of {format_quantity(link, 'force')} in it" if link is not None else ""
                    sag = format_quantity(span.sag, "length")
                    yield f"{circuit.circuit.name}, {span.name}: sag {sag} at its middle{told}; a loop at either end."
