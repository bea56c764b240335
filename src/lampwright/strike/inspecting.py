"""From a filled form to an inspection: what was watched for how long, and what failed."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Sequence

from lampwright.faults.anatomy import place_within
from lampwright.faults.every import Body, every_fault, stretches
from lampwright.faults.kinds import FaultKind, Per
from lampwright.faults.learned import judged_rates
from lampwright.faults.wear import Wear
from lampwright.stock import Failure, Inspection

OF_STRIP = (FaultKind.RAIL_OPEN, FaultKind.DATA_OPEN, FaultKind.WET_JOINT, Wear.TORN_SLEEVE)
"""What the strip of a stretch can suffer between its joints."""

OF_MEMBER = (Wear.SLIPPED_TIE, Wear.TAPE_LET_GO, Wear.BENT)
"""What a member and its ties and tape can suffer without anything going dark."""


def inspect(
    body: Body, failures: Sequence[Failure], date: datetime.date, nights: int, hours: float, note: str = ""
) -> Inspection:
    """Return the inspection of a piece that has stood for so many nights, in all so many hours under power.

    Each thing of the piece was watched, those that failed too: by nights or by hours, as the rate of its kind counts,
    and by the place at which it is. Strip that parts between its joints is no fault that odds count, yet it was
    watched: each span and fixed stretch counts as one thing more than the joints within it.

    Raises
    ------
    ValueError
        No night, or no time.
    """
    if nights < 1 or hours <= 0:
        raise ValueError(f"at least one night and some time, not {nights} and {hours}")
    watched = {
        (kind, place): count * (nights if judged_rates()[kind].per is Per.NIGHT else hours)
        for (kind, place), count in _units(body).items()
    }
    return Inspection(body.piece.brief.name, date, nights, hours, watched, tuple(failures), note)


def _units(body: Body) -> Counter[tuple[str, str]]:
    """Return how many things of a piece were watched, by kind and place."""
    units = Counter((fault.kind.value, fault.place.value if fault.place else "") for fault in every_fault(body))
    for stretch in (each for anatomy in body.anatomies for each in stretches(anatomy)):
        units.update((kind.value, place_within(stretch).value) for kind in OF_STRIP)
    for _ in body.piece.members:
        units.update((wear.value, "") for wear in OF_MEMBER)
    return units
