"""A circuit's wires and joints: every wire with its mark, ends, gauge, colours and lengths; every joint with its place.

The one source of what is cut as wire, counted as work, drawn in the wiring drawing and ticked off in the joint list.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from functools import cache
from importlib import resources

from lampwright.layout.check import JUMPER
from lampwright.layout.model import CircuitLayout, RunLayout
from lampwright.layout.transitions import Transition, transitions
from lampwright.parts import Wire, find
from lampwright.piece.model import Allowances, Feed
from lampwright.power import FittedFuse, board_supply, bulk_of, feed_name, fuses_of, line_resistors
from lampwright.units import parse

PLUS, GROUND, DATA = "red", "black", "green"
"""The wires' colours, so that plus is never taken for ground (common practice, no source)."""


class WireUse(Enum):
    """What a wire is for."""

    LEAD = "lead"
    BOARD = "board's supply"
    FEED = "feed"
    DATA = "data line"
    JUMPER = "jumper"


@dataclass(frozen=True)
class HarnessWire:
    """Wires that are laid together from one place to another."""

    mark: str
    """Such as "W3": the same on the drawing, in the wire list and in the joint list."""
    label: str
    """Such as "arch 1 hoop feed at 50 %": the same on labels and in the cut plan."""
    use: WireUse
    strands: tuple[tuple[Wire, str], ...]
    """Each conductor's gauge and colour."""
    way: float  # from end to end [m]
    cut: float  # of each conductor, with what the piece file's allowances add [m]
    start: str
    end: str
    run: str = ""
    feed: Feed | None = None
    fuse: FittedFuse | None = None
    """In its plus, where it begins."""

    @property
    def gauges(self) -> tuple[Wire, ...]:
        """Each gauge once, in the order of the strands."""
        return tuple(dict.fromkeys(wire for wire, _ in self.strands))


@dataclass(frozen=True)
class JointRow:
    """Solder joints at one place."""

    mark: str
    """Such as "J5"."""
    where: str
    run: str
    """Empty where it is on no run."""
    metre: float  # from the run's head [m]
    pixel: int
    """The pixel behind it, counted from 0 in its run; as many as the run has: behind the last one."""
    joins: tuple[str, ...]
    """What is soldered: one joint for each entry."""
    gauges: tuple[Wire, ...]
    sleeve: float  # bore before it shrinks; 0: none [m]
    is_strip_cut: bool = False

    @property
    def count(self) -> int:
        """Solder joints."""
        return len(self.joins)


@dataclass(frozen=True)
class Harness:
    """All wires and joints of a circuit."""

    circuit: str
    wires: tuple[HarnessWire, ...]
    joints: tuple[JointRow, ...]

    @property
    def n_solder(self) -> int:
        """Solder joints of the circuit."""
        return sum(row.count for row in self.joints)


def wires_of(layout: CircuitLayout, allowances: Allowances) -> tuple[HarnessWire, ...]:
    """Return a circuit's wires in the order of their marks: lead, board, then run by run."""
    return tuple(_numbered(_wires(layout, allowances)))


def harness_of(layout: CircuitLayout, allowances: Allowances, reel_joints: Sequence[tuple[str, int]] = ()) -> Harness:
    """Return a circuit's wires and joints.

    Parameters
    ----------
    reel_joints
        Run and pixel of each joint that is there because no reel is long enough.
    """
    wires = wires_of(layout, allowances)
    rows = [*_at_source(layout, wires), *_at_hub(wires), *_at_fuses(wires), *_at_board(layout, wires)]
    for run in layout.runs:
        rows += _on_run(layout, run, wires, [pixel for name, pixel in reel_joints if name == run.run.name])
    joints = tuple(_marked(rows))
    return Harness(layout.circuit.name, wires, joints)


def strip_cuts(layout: CircuitLayout, run: RunLayout) -> tuple[int, ...]:
    """Return the pixels before which a run's strip is cut: stated joints, and sections it can't lie on to."""
    turns = {each.pixel for each in transitions(layout) if each.run == run.run.name and each.is_cut}
    places = {round(joint.at * run.n_pixel) for joint in run.run.joints} | turns
    return tuple(sorted(place for place in places if 0 < place < run.n_pixel))


def gauge_text(wires: Sequence[Wire]) -> str:
    """Return gauges as spoken, such as "AWG 20 and AWG 24"."""
    return " and ".join(wire.title.removesuffix(" copper wire") for wire in wires)


def sleeve_for(wire: Wire) -> float:
    """Return the bore of the smallest sleeve that slips over a wire and its joint. [m]"""
    rules = _rules()
    outside = 2 * math.sqrt(wire.area.value / math.pi) + 2 * rules.insulation
    return next((bore for bore in rules.sleeves if bore >= rules.slip * outside), rules.sleeves[-1])


def _wires(layout: CircuitLayout, allowances: Allowances) -> Iterable[HarnessWire]:
    circuit, rules = layout.circuit, _rules()
    name, lead = circuit.name, circuit.wiring.lead
    fuses = {fitted.where: fitted for fitted in fuses_of(circuit)}

    def laid(
        label: str, use: WireUse, strands: Iterable[tuple[Wire, str]], way: float, ends: tuple[str, str],
        run: str = "", feed: Feed | None = None,
    ) -> HarnessWire:  # fmt: skip
        guarded = feed_name(run, feed.at) if feed is not None else use.value
        cut, fuse = allowances.cable(way), fuses.get(guarded)
        return HarnessWire("", f"{name} {label}", use, tuple(strands), way, cut, *ends, run, feed, fuse)

    def pair(wire: Wire) -> tuple[tuple[Wire, str], ...]:
        return (wire, PLUS), (wire, GROUND)

    if lead.length > 0:
        yield laid("lead", WireUse.LEAD, pair(lead.wire), lead.length, (circuit.source_noun, "hub"))
    yield laid("board", WireUse.BOARD, pair(board_supply(circuit).wire), rules.board_way, ("hub", "board"))
    turns = {(each.run, each.pixel): each for each in transitions(layout) if each.is_cut}
    for run in layout.runs:
        title = run.run.name
        for feed in run.run.feeds:
            origin = "hub" if feed.origin is None else f"{feed.origin.run} at {100 * feed.origin.at:.4g} %"
            ends = (origin, f"{title} at {100 * feed.at:.4g} %")
            if feed.cable.length > 0:
                label = f"{title} feed at {100 * feed.at:.4g} %"
                yield laid(label, WireUse.FEED, pair(feed.cable.wire), feed.cable.length, ends, title, feed)
        way = run.run.head.data_lead
        if way > 0:
            yield laid(
                f"{title} data",
                WireUse.DATA,
                [(rules.data_wire, DATA)],
                way,
                (f"pin {run.run.pin}", f"{title} head"),
                title,
            )
        for pixel in strip_cuts(layout, run):
            if turn := turns.get((title, pixel)):
                strands = (*pair(find(Wire, JUMPER)), (rules.data_wire, DATA))
                label = f"{title}, {turn.before} to {turn.after}"
                yield laid(label, WireUse.JUMPER, strands, turn.gap, _jumper_ends(turn), title)


def _jumper_ends(turn: Transition) -> tuple[str, str]:
    return f"behind pixel {turn.pixel - 1}", f"before pixel {turn.pixel}"


def _numbered(wires: Iterable[HarnessWire]) -> Iterable[HarnessWire]:
    for number, wire in enumerate(wires, start=1):
        yield replace(wire, mark=f"W{number}")


def _marked(rows: Iterable[JointRow]) -> Iterable[JointRow]:
    for number, row in enumerate(rows, start=1):
        yield replace(row, mark=f"J{number}")


def _place(where: str, joins: Sequence[str], gauges: Sequence[Wire], sleeve: float) -> JointRow:
    return JointRow("", where, "", 0.0, 0, tuple(joins), tuple(dict.fromkeys(gauges)), sleeve)


def _at_source(layout: CircuitLayout, wires: Sequence[HarnessWire]) -> Iterable[JointRow]:
    """Yield what is soldered behind each pack or supply: plug, fuse holder, what joins several packs."""
    bank, lead = layout.circuit.bank, layout.circuit.wiring.lead.wire
    mark = next((wire.mark for wire in wires if wire.use is WireUse.LEAD), "hub")
    count = bank.count if bank.is_shared else 1
    for number in range(1, count + 1):
        plug = "plug" if count == 1 else f"plug {number}"
        joins = [f"{plug} plus to fuse holder"]
        if bank.is_shared:
            joins += ["fuse holder to diode", "diode to common plus", f"{plug} ground to common ground"]
        else:
            joins += [f"fuse holder to {mark} {PLUS}", f"{plug} ground to {mark} {GROUND}"]
        if math.isfinite(bank.keep_awake):
            joins += ["keep-awake resistor to plus", "keep-awake resistor to ground"]
        noun = layout.circuit.source_noun
        yield _place(noun if count == 1 else f"{noun} {number}", joins, [lead], sleeve_for(lead))
    if bank.is_shared:
        joins = ["common plus to fuse holder", f"fuse holder to {mark} {PLUS}", f"common ground to {mark} {GROUND}"]
        yield _place("behind the diodes", joins, [lead], sleeve_for(lead))


def _at_hub(wires: Sequence[HarnessWire]) -> Iterable[JointRow]:
    met = [wire for wire in wires if "hub" in (wire.start, wire.end)]
    gauges = [wire.strands[0][0] for wire in met]
    thickest = max(gauges, key=lambda wire: wire.area.value)
    for colour, title in ((PLUS, "plus"), (GROUND, "ground")):
        joins = [_at_hub_end(wire, colour) for wire in met]
        yield _place(f"hub, {title}", joins, gauges, 2 * sleeve_for(thickest))


def _at_hub_end(wire: HarnessWire, colour: str) -> str:
    """Return what of a wire is soldered at the hub: the holder of its fuse, else the wire itself."""
    if colour == PLUS and wire.start == "hub" and wire.fuse is not None:
        return f"holder of {wire.fuse.mark}"
    return f"{wire.mark} {colour}"


def _at_fuses(wires: Sequence[HarnessWire]) -> Iterable[JointRow]:
    """Yield what is soldered behind the holder of each fuse but those at the packs."""
    for wire in wires:
        if wire.fuse is not None and wire.use is not WireUse.LEAD:
            gauge = wire.strands[0][0]
            where = f"fuse {wire.fuse.mark}, {wire.fuse.fuse.rating.text}"
            yield _place(where, [f"holder of {wire.fuse.mark} to {wire.mark} {PLUS}"], [gauge], sleeve_for(gauge))


def _at_board(layout: CircuitLayout, wires: Sequence[HarnessWire]) -> Iterable[JointRow]:
    supply = next(wire for wire in wires if wire.use is WireUse.BOARD)
    gauge = supply.strands[0][0]
    joins = [f"{supply.mark} {PLUS} to the supply pin", f"{supply.mark} {GROUND} to the ground pin"]
    yield _place("board, supply", joins, [gauge], 0.0)
    resistors = {line.run: line.resistance for line in line_resistors(layout)}
    for run in layout.runs:
        data = next((each for each in wires if each.use is WireUse.DATA and each.run == run.run.name), None)
        to = f"{data.mark} {DATA}" if data else "the head's connector"
        if resistors[run.run.name]:
            joins = [f"pin {run.run.pin} to resistor", f"resistor to {to}"]
        else:
            joins = [f"pin {run.run.pin} to {to}"]
        gauge = _rules().data_wire
        yield _place(f"board, data of {run.run.name}", joins, [gauge], sleeve_for(gauge))


def _on_run(
    layout: CircuitLayout, run: RunLayout, wires: Sequence[HarnessWire], reel_joints: Sequence[int]
) -> Iterable[JointRow]:
    """Yield the joints along a run, from its head on."""
    name, length = run.run.name, sum(section.length for section in run.sections)
    over_strip = _rules().over_strip
    head = [w for w in wires if w.run == name and (w.use is WireUse.DATA or (w.feed is not None and w.feed.at == 0))]
    gauges = [gauge for wire in head for gauge, _ in wire.strands] or [_rules().data_wire]
    joins = [f"{wire.mark} {colour} to the connector" for wire in head for _, colour in wire.strands]
    if joins:
        yield JointRow(
            "", f"head of {name}, cable side", name, 0.0, 0, tuple(joins), _once(gauges), sleeve_for(gauges[0])
        )
    joins = [f"connector {of} to the strip" for of in ("plus", "data", "ground")]
    if any(bulk.run == name and bulk.capacitance > 0 for bulk in bulk_of(layout)):
        joins += ["capacitor plus to the strip", "capacitor minus to the strip"]
    yield JointRow("", f"head of {name}, strip side", name, 0.0, 0, tuple(joins), _once(gauges), over_strip)
    rows: list[JointRow] = []
    for wire in wires:
        feed = wire.feed
        if feed is None:
            continue
        met = (wire.mark, wire.strands[0][0])
        if wire.run == name and feed.at > 0:
            rows.append(_tap(run, feed.at, length, *met))
        if feed.origin is not None and feed.origin.run == name:
            rows.append(_tap(run, feed.origin.at, length, *met, wire.fuse))
    jumpers = iter([wire for wire in wires if wire.use is WireUse.JUMPER and wire.run == name])
    turns = {each.pixel for each in transitions(layout) if each.run == name and each.is_cut}
    pitch = 1.0 / run.run.strip.density.value
    for pixel in sorted({*strip_cuts(layout, run), *reel_joints}):
        where = f"{name}, strip joined before pixel {pixel}"
        if pixel in turns:
            wire = next(jumpers)
            joins = [
                f"{wire.mark} {colour} {side}" for side in ("behind it", "before it") for colour in (PLUS, GROUND, DATA)
            ]
            row = JointRow("", where, name, pixel * pitch, pixel, tuple(joins), wire.gauges, over_strip, True)
        else:
            joins = ["pads lapped: plus", "pads lapped: data", "pads lapped: ground"]
            row = JointRow("", where, name, pixel * pitch, pixel, tuple(joins), (), over_strip, True)
        rows.append(row)
    yield from sorted(rows, key=lambda row: row.metre)


def _tap(
    run: RunLayout, share: float, length: float, mark: str, wire: Wire, fuse: FittedFuse | None = None
) -> JointRow:
    pixel = round(share * run.n_pixel)
    name = run.run.name
    where = f"{name}, before pixel {pixel}" if pixel < run.n_pixel else f"{name}, behind its last pixel"
    plus = f"{mark} {PLUS}" if fuse is None else f"holder of {fuse.mark}"
    joins = (f"{plus} to the strip", f"{mark} {GROUND} to the strip")
    return JointRow("", where, name, share * length, pixel, joins, (wire,), _rules().over_strip)


def _once(gauges: Iterable[Wire]) -> tuple[Wire, ...]:
    return tuple(dict.fromkeys(gauges))


@dataclass(frozen=True)
class _Rules:
    """What ``data/joints.toml`` says."""

    sleeves: tuple[float, ...]  # rising [m]
    over_strip: float  # [m]
    slip: float
    insulation: float  # [m]
    board_way: float  # [m]
    data_wire: Wire


@cache
def _rules() -> _Rules:
    text = resources.files("lampwright.making").joinpath("data", "joints.toml").read_text(encoding="utf-8")
    raw = tomllib.loads(text)
    return _Rules(
        tuple(parse(each, "length") for each in raw["sleeves"]),
        parse(raw["over_strip"], "length"),
        raw["slip"],
        parse(raw["insulation"], "length"),
        parse(raw["board_way"], "length"),
        find(Wire, raw["data_wire"]),
    )
