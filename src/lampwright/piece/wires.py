"""Turn what a circuit's entry says of wires into its wiring, feeds and joints."""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.piece.model import Cable, Feed, Head, Joint, Origin, Reading, Wiring, head_feed, short_lead
from lampwright.piece.report import Report, did_you_mean, quoted_list
from lampwright.piece.schema import CableEntry, CircuitEntry, RunEntry
from lampwright.piece.source import Path
from lampwright.units import Place, Problem


def read_wiring(entry: CircuitEntry, place: Place) -> Wiring:
    """Return a circuit's wiring; what isn't stated is as :class:`~lampwright.piece.model.Wiring` says."""
    plain = Wiring()
    return Wiring(
        lead=_cable(entry.lead) if entry.lead is not None else short_lead(),
        plug=entry.plug if entry.plug is not None else plain.plug,
        pack_droop=entry.pack_droop,
        copper=entry.copper if entry.copper is not None else plain.copper,
        place=place,
    )


def read_feeds(run: RunEntry) -> tuple[Feed, ...]:
    """Return a run's feeds; one at its head where none is stated."""
    if run.feed is None:
        return head_feed()
    return tuple(
        Feed(
            feed.at,
            _cable(feed),
            None if feed.start is None else Origin(feed.start, feed.from_at or 0.0),
        )
        for feed in run.feed
    )


def _cable(entry: CableEntry) -> Cable:
    return Cable(entry.wire, entry.length, entry.fuse)


def read_joints(run: RunEntry) -> tuple[Joint, ...]:
    """Return a run's joints."""
    return tuple(Joint(joint.at, joint.resistance) for joint in run.joint)


def read_head(run: RunEntry) -> Head:
    """Return what stands at a run's head, as far as it is stated."""
    plain = Head()
    lead = plain.data_lead if run.data_lead is None else run.data_lead
    return Head(run.capacitor, run.data_resistor, lead)


def read_readings(entry: CircuitEntry) -> tuple[Reading, ...]:
    """Return a circuit's meter readings; the run is its first where none is named."""
    return tuple(
        Reading(
            _codes(reading.pattern, round(255 * reading.level)),
            reading.current,
            reading.head,
            reading.far_end,
            reading.run if reading.run is not None else entry.run[0].name,
        )
        for reading in entry.reading
    )


def _codes(pattern: str, code: int) -> tuple[int, int, int]:
    lit = {"dark": (0, 0, 0), "red": (1, 0, 0), "green": (0, 1, 0), "blue": (0, 0, 1), "white": (1, 1, 1)}[pattern]
    return lit[0] * code, lit[1] * code, lit[2] * code


def check_readings(entry: CircuitEntry, path: Path, report: Report) -> None:
    """Check that each reading is of a run of this circuit."""
    names = [run.name for run in entry.run]
    for number, reading in enumerate(entry.reading):
        if reading.run is not None and reading.run not in names:
            report.at_value((*path, "reading", number, "run"), _unknown_run(reading.run, names))


def check_origins(run: RunEntry, names: Sequence[str], path: Path, report: Report) -> None:
    """Check that each feed starts at a run of the same circuit."""
    for number, feed in enumerate(run.feed or ()):
        at = (*path, "feed", number)
        if feed.start is not None and feed.start not in names:
            report.at_value((*at, "from"), _unknown_run(feed.start, names))
        if feed.start is None and feed.from_at is not None:
            report.at_key((*at, "from_at"), _without_from())


def _unknown_run(name: str, names: Sequence[str]) -> Problem:
    return Problem(
        code="PIECE-028",
        summary=f'this circuit has no run "{name}"',
        found=f'"{name}"',
        allowed=quoted_list(names),
        do=did_you_mean(name, names, "name one of the runs allowed, or leave this out"),
    )


def _without_from() -> Problem:
    return Problem(
        code="PIECE-028",
        summary='"from_at" needs "from"',
        found='"from_at" alone',
        allowed='from_at together with from = "..."',
        do='add from = "..." with the name of a run, or delete from_at',
    )
