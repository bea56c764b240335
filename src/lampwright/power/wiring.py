"""From a circuit's layout and the piece file's wires to its rail network."""

from __future__ import annotations

from dataclasses import dataclass, field

from lampwright.layout.model import CircuitLayout, RunLayout
from lampwright.parts import Supply
from lampwright.piece.model import Cable, Circuit, Joined
from lampwright.power.network import Network, RailWire, Source, copper_factor
from lampwright.power.pixel_model import pixel_model

FULL_LOAD_LOSS = 0.05
"""Share of its voltage that a pack's output may have lost at its limit, where its droop isn't stated: USB 2.0 lets a
port fall from 5 V to 4.75 V."""


@dataclass
class _Draft:
    """Places and wires as they are found."""

    n_place: int = 1
    wires: list[RailWire] = field(default_factory=list)

    def place(self) -> int:
        self.n_place += 1
        return self.n_place - 1

    def lay(self, name: str, start: int, end: int, resistance: float) -> None:
        self.wires.append(RailWire(name, start, end, resistance, resistance))


def wire_up(layout: CircuitLayout) -> Network:
    """Return the rail network of a circuit.

    Place 0 is the output of the pack or supply, place 1 the end of the lead, where board and feeds begin.
    """
    circuit = layout.circuit
    wiring = circuit.wiring
    factor = copper_factor(wiring.copper)
    draft = _Draft()
    hub = draft.place()
    draft.lay("lead", 0, hub, cable_resistance(wiring.lead, factor) + wiring.plug)
    pixels: list[int] = []
    stations: dict[str, dict[float, int]] = {}
    for run in layout.runs:
        stations[run.run.name] = _lay_run(draft, layout, run, factor, pixels)
    for run in layout.runs:
        for feed in run.run.feeds:
            start = hub
            if feed.origin is not None:
                start = stations.get(feed.origin.run, {}).get(feed.origin.at, -1)
            if start < 0:  # the run it comes from was skipped: left loose, and told so
                start = draft.place()
            end = stations[run.run.name][feed.at]
            draft.lay(feed_name(run.run.name, feed.at), start, end, cable_resistance(feed.cable, factor))
    return Network(
        source=source_of(circuit),
        n_place=draft.n_place,
        wires=tuple(draft.wires),
        pixels=tuple(pixels),
        model=pixel_model(circuit.strip),
        loads=((hub, circuit.board.current.value),),
        origin=wiring.place,
    )


def source_of(circuit: Circuit) -> Source:
    """Return one of a circuit's packs, or its supply, as a source: open voltage, droop, limit, a shared bank's diode.

    A bank is held to what one pack alone can do: packs that share a load empty one after the other, and the last must
    carry all of it.
    """
    volts, diode = circuit.source.output_voltage.value, diode_of(circuit)
    return Source(volts - diode.forward, source_droop(circuit) + diode.resistance, circuit.source_limit)


def source_droop(circuit: Circuit) -> float:
    """Return what the output of one pack or supply loses for each ampere, without its diode. [ohm]

    As stated or measured; of a supply its load regulation at its rating; of a pack as much as the standard of its
    port allows at the port's limit; else ``FULL_LOAD_LOSS`` at the pack's.
    """
    if circuit.wiring.pack_droop is not None:
        return circuit.wiring.pack_droop
    source, port = circuit.source, circuit.bank.port
    volts = source.output_voltage.value
    if isinstance(source, Supply):
        return source.load_regulation.value * volts / source.current_limit.value
    if port is not None and port.voltage_least.value < volts:
        return (volts - port.voltage_least.value) / port.current_limit.value
    return FULL_LOAD_LOSS * volts / source.current_limit.value


def droop_source(circuit: Circuit) -> str:
    """Return where :func:`source_droop` comes from."""
    if circuit.wiring.pack_droop is not None:
        return "stated"
    if isinstance(circuit.source, Supply):
        return f"its load regulation, {circuit.source.load_regulation.text} at its rating"
    if circuit.bank.port is not None:
        return f"down to {circuit.bank.port.voltage_least.text} at the port's limit"
    return "5 % of the pack's voltage at its limit"


@dataclass(frozen=True)
class DiodeDrop:
    """What a diode between pack and lead takes."""

    forward: float  # at any current [V]
    resistance: float  # [ohm]


def diode_of(circuit: Circuit) -> DiodeDrop:
    """Return the drop of the diode behind each pack, nothing where there is none.

    A plain diode takes its greatest forward voltage at any current, which is on the safe side; an ideal one is a
    transistor that is switched on, a resistance.
    """
    bank = circuit.bank
    if not bank.is_shared or bank.diode is None:
        return DiodeDrop(0.0, 0.0)
    forward, current = bank.diode.forward.value, bank.diode.current.value
    if bank.joined is Joined.PLAIN_DIODE:
        return DiodeDrop(forward, 0.0)
    return DiodeDrop(0.0, forward / current)


def cable_resistance(cable: Cable, factor: float = 1.0) -> float:
    """Return the resistance of each of a cable's two conductors [ohm]; ``factor`` is the copper's temperature's."""
    return cable.wire.resistance.value * cable.length * factor


def feed_name(run: str, at: float) -> str:
    """Return how a feed is called, such as "feed of hoop at 100 %"."""
    return f"feed of {run} at {100 * at:.4g} %"


def run_length(run: RunLayout) -> float:
    """Return the strip of a run, end to end. [m]"""
    return sum(section.length for section in run.sections)


def _lay_run(
    draft: _Draft, layout: CircuitLayout, run: RunLayout, factor: float, pixels: list[int]
) -> dict[float, int]:
    """Lay a run's own copper; return the place of each feed's, origin's and joint's share of its length."""
    name, first = run.run.name, len(pixels)
    along = [float(each) for each in layout.along[run.first : run.first + run.n_pixel]]
    length = max(run_length(run), along[-1] if along else 0.0)
    shares = {feed.at for feed in run.run.feeds}
    shares |= {
        feed.origin.at
        for each in layout.runs
        for feed in each.run.feeds
        if feed.origin is not None and feed.origin.run == name
    }
    joints = {joint.at: joint.resistance for joint in run.run.joints}
    points = sorted(
        [(each, number, -1.0) for number, each in enumerate(along)]
        + [(share * length, -1, share) for share in shares | set(joints)]
    )
    at_share: dict[float, int] = {}
    before, place_before = 0.0, -1
    for distance, number, share in points:
        place = draft.place()
        if place_before >= 0:
            resistance = run.run.strip.rail_resistance.value * (distance - before) * factor
            resistance += joints.get(share, 0.0) if number < 0 else 0.0
            draft.wires.append(RailWire(f"{name} strip", place_before, place, resistance, resistance, is_strip=True))
        if number < 0:
            at_share[share] = place
        else:
            pixels.append(place)
        before, place_before = distance, place
    assert len(pixels) - first == run.n_pixel
    return at_share
