"""From a filled form to an inspection: what was watched for how long, and what failed."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Sequence

from lampwright.faults.every import Body, every_fault
from lampwright.faults.kinds import Per, all_kinds
from lampwright.stock import Failure, Inspection


def inspect(
    body: Body, failures: Sequence[Failure], date: datetime.date, nights: int, hours: float, note: str = ""
) -> Inspection:
    """Return the inspection of a piece that has stood for so many nights, in all so many hours under power.

    Each thing of the piece was watched, those that failed too: by nights or by hours, as the rate of its kind counts.

    Raises
    ------
    ValueError
        No night, or no time.
    """
    if nights < 1 or hours <= 0:
        raise ValueError(f"at least one night and some time, not {nights} and {hours}")
    units = Counter(fault.kind for fault in every_fault(body))
    watched = {
        kind.value: count * (nights if all_kinds()[kind].rate.per is Per.NIGHT else hours)
        for kind, count in units.items()
    }
    return Inspection(body.piece.brief.name, date, nights, hours, watched, tuple(failures), note)
