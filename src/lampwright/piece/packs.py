"""Turn what a circuit's entry says of its packs into a bank, and check that it makes sense."""

from __future__ import annotations

import math

from lampwright.parts import Diode, Pack, find
from lampwright.piece.model import Bank, Joined, limit_of, total_of
from lampwright.piece.report import Report
from lampwright.piece.schema import CircuitEntry
from lampwright.piece.source import Path
from lampwright.units import Problem, format_quantity

DIODES = {Joined.IDEAL_DIODE: "diode-ideal-5a", Joined.PLAIN_DIODE: "diode-1n5822"}
"""The diode of each pack unless the maker names another."""


def read_bank(entry: CircuitEntry) -> Bank:
    """Return a circuit's packs; what isn't stated is as :class:`~lampwright.piece.model.Bank` says."""
    joined = Joined(entry.joined) if entry.joined is not None else Joined.IN_TURN
    diode = entry.diode
    if diode is None and joined in DIODES:
        diode = find(Diode, DIODES[joined])
    return Bank(
        count=entry.packs,
        joined=joined,
        diode=diode,
        port=entry.port,
        cycles=None if entry.pack_cycles is None else float(entry.pack_cycles),
        other_ports=entry.other_ports,
        keep_awake=entry.keep_awake if entry.keep_awake is not None else math.inf,
    )


def check_bank(entry: CircuitEntry, pack: Pack, path: Path, report: Report) -> None:
    """Check that several packs are joined, that one isn't, and that something of a pack is left for the circuit."""
    if entry.packs > 1 and entry.joined is None:
        report.at_value((*path, "packs"), _not_joined(entry.packs))
    if entry.packs == 1 and entry.joined is not None:
        report.at_key((*path, "joined"), _joined_alone(entry.joined))
    if entry.diode is not None and (entry.joined is None or Joined(entry.joined) not in DIODES):
        report.at_key((*path, "diode"), _diode_without_use())
    volts = pack.output_voltage.value
    awake = 0.0 if entry.keep_awake is None else volts / entry.keep_awake
    most = limit_of(pack, Bank(port=entry.port)) / 2
    if awake >= most:
        report.at_value((*path, "keep_awake"), _eats_the_pack(awake, most, volts))
    elif entry.other_ports + awake >= total_of(pack):
        report.at_value((*path, "other_ports"), _nothing_left(entry.other_ports, total_of(pack) - awake))


def _not_joined(count: int) -> Problem:
    return Problem(
        code="PIECE-029",
        summary="it is unclear how the packs come together",
        found=f"packs = {count} without joined",
        allowed='joined = "in turn", "ideal diode" or "plain diode"',
        do='add joined = "in turn" if somebody changes them; never join the plus of two packs without diodes',
    )


def _joined_alone(joined: str) -> Problem:
    return Problem(
        code="PIECE-029",
        summary='"joined" needs more than one pack',
        found=f'joined = "{joined}" with one pack',
        allowed="joined together with packs = 2 or more",
        do="add packs = 2, or delete joined",
    )


def _diode_without_use() -> Problem:
    return Problem(
        code="PIECE-029",
        summary='"diode" has no meaning here: the packs are not joined by diodes',
        found='"diode"',
        allowed='diode together with joined = "ideal diode" or "plain diode"',
        do="delete diode, or say how the packs are joined",
    )


def _nothing_left(taken: float, total: float) -> Problem:
    most = format_quantity(total, "current")
    return Problem(
        code="PIECE-030",
        summary="the pack's other ports leave nothing for this circuit",
        found=format_quantity(taken, "current"),
        allowed=f"less than {most}, what all ports of the pack give together",
        do="give what else is fed a pack of its own, or state the pack's total_limit from its label",
    )


def _eats_the_pack(awake: float, most: float, volts: float) -> Problem:
    return Problem(
        code="PIECE-030",
        summary="this resistor would take most of what the pack gives",
        found=f"{format_quantity(awake, 'current')} at {format_quantity(volts, 'voltage')}",
        allowed=f"less than {format_quantity(most, 'current')}, half of the pack's limit",
        do='write a larger resistance, such as keep_awake = "47 ohm"',
    )
