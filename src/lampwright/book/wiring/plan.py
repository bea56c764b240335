"""Where a circuit's runs, feeds and joints stand on the sheets of its wiring drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from lampwright.layout.model import CircuitLayout, RunLayout
from lampwright.making import Harness, HarnessWire, WireUse

STRIP_LEFT, STRIP_RIGHT = 184.0, 279.0
"""Head and far end of every run on the paper. [mm]"""
ROW_GROUND, ROW_DATA, BAND_ABOVE, BAND_BELOW = 8.0, 16.0, 4.0, 20.0
"""Of a run, from its plus rail down; and how far its strip reaches up and down from there. [mm]"""
TAP = 7.5
"""From one tap of a run to the next, where they would be closer. [mm]"""
LANE, LEAST_LANE = 8.0, 5.6
"""From one feed's way to the next. [mm]"""
BELOW = 10.5
"""Under a strip, for names and marks. [mm]"""
GAP = 3.0


@dataclass(frozen=True)
class Tap:
    """Where a cable meets a run's rails."""

    wire: HarnessWire
    is_end: bool
    """Whether the cable ends here; otherwise it begins here."""
    joint: str
    x: float


@dataclass
class Row:
    """A run on its sheet."""

    run: RunLayout
    length: float  # of strip [m]
    plus: float  # y of its plus rail [mm]
    above: dict[str, float] = field(default_factory=dict)
    """By the mark of a cable that comes from elsewhere: y of its way."""
    below: dict[str, float] = field(default_factory=dict)
    """By the mark of a cable from this very run: y of its way."""
    taps: tuple[Tap, ...] = ()
    is_crowded: bool = False
    """Whether cables end in their marks, because their ways don't fit the paper."""
    fuses: list[tuple[tuple[float, float], float]] = field(default_factory=list)
    """Of each fuse in a cable to this run: where the cable's way begins, and to which x it goes."""

    @property
    def name(self) -> str:
        """Of the run."""
        return self.run.run.name

    def x_of(self, share: float) -> float:
        """Return where a share of the run's length stands. [mm]"""
        return STRIP_LEFT + share * (STRIP_RIGHT - STRIP_LEFT)


@dataclass(frozen=True)
class SheetPlan:
    """The runs of one sheet, from the top."""

    rows: tuple[Row, ...]

    def row(self, run: str) -> Row | None:
        """Return the row of a run, ``None`` where it is on another sheet."""
        return next((row for row in self.rows if row.name == run), None)


def plan_sheets(layout: CircuitLayout, harness: Harness, top: float, bottom: float) -> tuple[SheetPlan, ...]:
    """Return the sheets of a circuit: as many runs on each as its height holds. [mm]"""
    sheets: list[list[Row]] = [[]]
    y = top
    for run in layout.runs:
        row, height = _row(run, harness, y, bottom - top)
        if sheets[-1] and y + height > bottom:
            sheets.append([])
            y = top
            row, height = _row(run, harness, y, bottom - top)
        sheets[-1].append(row)
        y += height
    for rows in sheets:
        spare = bottom - y if rows is sheets[-1] else 0.0
        _move_apart(rows, spare)
    return tuple(SheetPlan(tuple(rows)) for rows in sheets if rows)


def _move_apart(rows: Sequence[Row], spare: float) -> None:
    """Use what height is left over between the runs, within reason."""
    step = min(12.0, spare / (len(rows) + 1))
    for number, row in enumerate(rows, start=1):
        row.plus += step * number
        for ways in (row.above, row.below):
            for mark in ways:
                ways[mark] += step * number


def _row(run: RunLayout, harness: Harness, y: float, room: float) -> tuple[Row, float]:
    """Return a run's row, and the height that it takes."""
    name = run.run.name
    feeds = [wire for wire in harness.wires if wire.use is WireUse.FEED and wire.run == name and wire.feed]
    own = [wire for wire in feeds if wire.feed and wire.feed.origin and wire.feed.origin.run == name]
    # The farthest feed's way is on top, so that no way crosses another; what comes to the head from another run is
    # lowest. A feed of the head from the hub needs none: it goes straight in.
    others = sorted(
        (wire for wire in feeds if wire not in own and not is_straight(wire)),
        key=lambda wire: -(wire.feed.at if wire.feed else 0.0),
    )
    fixed = BAND_ABOVE + BAND_BELOW + BELOW + GAP
    n_lane = len(others) + len(own)
    lane = min(LANE, (room - fixed) / n_lane) if n_lane else LANE
    is_crowded = lane < LEAST_LANE
    if is_crowded:
        others, own, lane = [], [], LANE
    head = LANE if is_crowded else lane * len(others)
    plus = y + head + BAND_ABOVE
    row = Row(run, sum(section.length for section in run.sections), plus, is_crowded=is_crowded)
    for number, wire in enumerate(others):
        row.above[wire.mark] = y + lane * number + 4.5
    for number, wire in enumerate(own):
        row.below[wire.mark] = plus + BAND_BELOW + BELOW + lane * number + 3.0
    row.taps = _taps(row, harness)
    return row, head + fixed + lane * len(own)


def is_straight(wire: HarnessWire) -> bool:
    """Return whether a cable goes from the hub straight into a run's head."""
    return wire.feed is not None and wire.feed.at == 0 and wire.feed.origin is None


def _taps(row: Row, harness: Harness) -> tuple[Tap, ...]:
    found = []
    for wire in harness.wires:
        feed = wire.feed
        if feed is None:
            continue
        if wire.run == row.name and feed.at > 0:
            found.append(Tap(wire, True, _joint(harness, wire.mark, row.name), row.x_of(feed.at)))
        if feed.origin is not None and feed.origin.run == row.name:
            found.append(
                Tap(wire, False, _joint(harness, wire.mark, row.name, is_first=True), row.x_of(feed.origin.at))
            )
    found.sort(key=lambda tap: tap.x)
    return tuple(_spread(found))


def _joint(harness: Harness, mark: str, run: str, is_first: bool = False) -> str:
    """Return the mark of the joint where a cable meets a run; of two on one run the first or the last."""
    met = [row.mark for row in harness.joints if row.run == run and any(join.split()[0] == mark for join in row.joins)]
    return (met[0] if is_first else met[-1]) if met else ""


def _spread(taps: Sequence[Tap]) -> list[Tap]:
    """Move taps apart that are too close to be drawn, none beyond the strip's ends."""
    if not taps:
        return []
    space = min(TAP, (STRIP_RIGHT - STRIP_LEFT - 4) / max(1, len(taps) - 1))
    places: list[float] = []
    start = 0
    while start < len(taps):  # taps at one place stand evenly around it
        end = start
        while end < len(taps) and taps[end].x < taps[start].x + 1e-6:
            end += 1
        places += [taps[start].x + (n - (end - start - 1) / 2) * space for n in range(end - start)]
        start = end
    places = [min(max(x, STRIP_LEFT + 2), STRIP_RIGHT - 4) for x in places]
    for i in range(1, len(places)):
        places[i] = max(places[i], places[i - 1] + space)
    limit = STRIP_RIGHT - 4
    for i in reversed(range(len(places))):
        places[i] = min(places[i], limit)
        limit = places[i] - space
    return [Tap(tap.wire, tap.is_end, tap.joint, x) for tap, x in zip(taps, places, strict=True)]
