"""The order of setting up: what stands before what hangs, what hangs before what is plugged in."""

from __future__ import annotations

import math
from collections.abc import Iterable

from lampwright.layout.model import Layout
from lampwright.piece.model import Member, Piece, SpanSection
from lampwright.power import outlets_of
from lampwright.rigging import take_down_gust
from lampwright.units import format_quantity


def setting_up(layout: Layout) -> list[tuple[str, list[str]]]:
    """Return the steps under their headings, each to be ticked."""
    piece = layout.piece
    gust = math.floor(take_down_gust(layout) + 1e-9)
    spread = format_quantity(piece.standby.switch_on_spread, "time")
    standby = format_quantity(piece.brief.standby, "time")
    spans = list(_spans(layout))
    return [
        (
            "Before",
            [
                f"Forecast read: below gusts of {gust} m/s ({math.floor(3.6 * gust)} km/h) until it is down again, "
                "no storm warning. Otherwise it isn't put up.",
                "Place walked: ground firm, exits clear, nothing overhead that carries current. Who decides: "
                "........................................",
                f"Counted out: {_sources(piece)}; {len(piece.circuits)} boards; {len(piece.members)} members; "
                "spare parts, meter, tape, light.",
                *_outlets(piece),
            ],
        ),
        ("Stand", [f"{_standing(member)}" for member in piece.members]),
        *([("Hang", spans)] if spans else []),
        (
            "Connect",
            [
                f"{circuit.name}: board and {circuit.source_noun} in place, dry, off the ground; drip loops; "
                "connectors screwed home; arrows point away from the board."
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


def _sources(piece: Piece) -> str:
    """Return packs and supplies as they are counted out."""
    n_pack = sum(each.bank.count for each in piece.circuits if not each.is_on_mains)
    n_supply = sum(each.is_on_mains for each in piece.circuits)
    counted = [f"{n_pack} packs, full"] if n_pack else []
    return "; ".join([*counted, *([f"{n_supply} supplies, their leads whole"] if n_supply else [])])


def _outlets(piece: Piece) -> Iterable[str]:
    """Yield what is looked at on each mains outlet before anything is plugged in."""
    for outlet in outlets_of(piece.circuits):
        power = format_quantity(outlet.power, "power")
        names = ", ".join(piece.circuits[k].name for k in outlet.circuits)
        yield (
            f'Outlet "{outlet.name}", {power} at most, for {names}: the house has agreed; its residual-current device '
            "was tried; mains leads where nobody walks, or covered; pull relieved."
        )


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
