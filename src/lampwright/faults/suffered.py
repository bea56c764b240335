"""What a piece shows while chosen faults last, and whether as much stays lit as the brief demands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from lampwright.faults.cost import PASSING, Outage, circuits_needed, lit_circuits, single_outages
from lampwright.faults.every import Body, PieceFault, every_fault, join_damages, show_damage
from lampwright.faults.showing import Damage, Shown


@dataclass(frozen=True, eq=False)
class Suffered:
    """A piece with several faults at once."""

    shown: Shown
    """What is dark, frozen or wrong, (n_pixel,) masks of the piece."""
    pixels_lit: float
    """Share of the piece's pixels that show the show. [1]"""
    circuits_lit: int
    circuits_needed: int
    """How many the brief wants lit."""
    n_lasting: int
    """Faults among them that don't pass by themselves at once; only these can break the demand."""
    holds: bool
    """Whether what lasts leaves as many circuits lit as the brief wants."""


def worst_first(body: Body) -> tuple[tuple[PieceFault, Outage], ...]:
    """Return every single fault with what it costs alone, the worst first."""
    weighed = [(fault, single_outages(body, [fault])[0]) for fault in every_fault(body)]
    return tuple(sorted(weighed, key=lambda each: -each[1].cost))


def suffer(body: Body, faults: Sequence[PieceFault]) -> Suffered:
    """Return what a piece shows while all of these faults last."""
    shown = _shown(body, faults)
    lasting = [fault for fault in faults if fault.lasts > PASSING]
    left = int(np.count_nonzero(lit_circuits(body, _shown(body, lasting).lost)))
    needed = circuits_needed(body)
    return Suffered(
        shown,
        1.0 - float(shown.lost.mean()),
        int(np.count_nonzero(lit_circuits(body, shown.lost))),
        needed,
        len(lasting),
        left >= needed,
    )


def _shown(body: Body, faults: Sequence[PieceFault]) -> Shown:
    damages: Mapping[int, Damage] = {}
    for fault in faults:
        damages = join_damages(damages, fault.damages)
    return show_damage(body, damages)
