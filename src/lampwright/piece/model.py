"""The piece after its file was read, checked and expanded: what the later stages take in."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from pathlib import Path

from lampwright.look.source import Value
from lampwright.parts import NOUNS, find
from lampwright.parts.model import Board, CableTie, Cord, Diode, Fuse, Pack, Port, Strip, Supply, Wire

# Members are part of the piece's model; they stand in a module of their own for its length alone.
from lampwright.piece.members import Arc as Arc
from lampwright.piece.members import Base as Base
from lampwright.piece.members import Bent as Bent
from lampwright.piece.members import Hoop as Hoop
from lampwright.piece.members import Member as Member
from lampwright.piece.members import Shape as Shape
from lampwright.piece.members import Staff as Staff
from lampwright.piece.members import Straight as Straight
from lampwright.piece.members import Support as Support
from lampwright.units.errors import Place


@dataclass(frozen=True)
class Survive:
    """What the brief demands after something has failed."""

    failures: int
    lit: float
    """Share of the circuits that must stay lit. [1]"""


GUST_FACTOR = 1.5
"""Gusts over the mean of ten minutes unless the maker says otherwise, from memory: 1.4 to 1.6. [1]"""


@dataclass(frozen=True)
class Wind:
    """The strongest wind to stay up in."""

    speed: float  # mean of ten minutes, or of gusts where that is what was stated [m/s]
    said: str = ""
    """How the maker put it where that was no speed, such as "force 5"."""


@dataclass(frozen=True)
class Brief:
    """What was asked for."""

    name: str
    place: str
    date: datetime.date
    standby: float  # countdown from power-on to the show [s]
    run_time: float  # how long it must shine, standby not counted [s]
    coldest: float  # [K]
    wind: float  # as :class:`Wind` has it [m/s]
    survive: Survive
    gust_factor: float = GUST_FACTOR
    """Gusts over ``wind``; 1 where the maker has stated gusts. [1]"""
    wind_said: str = ""

    @property
    def gust(self) -> float:
        """The gusts to stay up in. [m/s]"""
        return self.gust_factor * self.wind

    def mean_of(self, gust: float) -> float:
        """Return the mean of ten minutes that goes with gusts of a speed [m/s]. [m/s]"""
        return gust / (self.gust_factor if self.gust_factor > 1 else GUST_FACTOR)

    recharge: float | None = None
    """Time at the charger before the next night; ``None``: not stated. [s]"""
    is_flown: bool = False
    """Whether the piece travels by air."""
    budget: float | None = None
    """What parts may cost together; ``None``: not stated."""
    currency: str | None = None
    """What the maker's prices are in; ``None``: as the catalogue's."""
    is_outdoors: bool | None = None
    """Whether rain and damp may reach it; ``None``: not stated."""
    tug: float = 100.0
    """A person's pull at the middle of a span, straight down (default: common practice, no source). [N]"""


@dataclass(frozen=True)
class Anchor:
    """A named point of a member, such as the "crown" of a hoop."""

    member: Member
    point: str


@dataclass(frozen=True)
class Leg:
    """A straight stretch of a zigzag, from its own member to another, or across its own."""

    at: float  # along the section's own member [m]
    other: Member
    other_at: float  # along the other one [m]
    start_aside: float  # square to the member's plane [m]
    end_aside: float  # [m]
    clear: float  # left without strip at both its ends [m]


@dataclass(frozen=True)
class FixedSection:
    """Strip fastened along a member, with bare lengths left at its two ends, or a leg of a zigzag."""

    name: str
    member: Member
    bare_start: float  # [m]
    bare_end: float  # [m]
    is_back: bool = False
    """Whether the strip goes from the end of the member's path to its start."""
    spiral: float | None = None
    """From turn to turn along the member, where the strip is wound around its tube. [m]"""
    leg: Leg | None = None
    """Where the strip goes, when it is no way along the member."""
    place: Place | None = field(default=None, compare=False)
    """Where in the piece file it stands."""


@dataclass(frozen=True)
class Fixing:
    """Cable ties that hold one end of a carrier to its member."""

    tie: CableTie
    count: int


@dataclass(frozen=True)
class Hold:
    """What takes a span's load in place of the strip, as far as the maker says."""

    carrier: Cord | None = None
    slack: float | None = None
    """Share by which the strip is longer than the carrier it is tied to. [1]"""
    weak_link: float | None = None
    """Pull at which the span lets go of a member. [N]"""
    fixing: Fixing | None = None


@dataclass(frozen=True)
class SpanSection:
    """Strip hanging free between two anchors."""

    name: str
    start: Anchor
    end: Anchor
    sag: float  # dip below the straight line between the anchors, at its middle [m]
    hold: Hold = Hold()
    place: Place | None = field(default=None, compare=False)
    """Where in the piece file it stands."""


Section = FixedSection | SpanSection


@dataclass(frozen=True)
class Cable:
    """A wire of the catalogue, laid twice: plus and ground."""

    wire: Wire
    length: float  # one way [m]
    fuse: Fuse | None = None
    """In its plus, where it begins; ``None``: a feed has none, and the lead's is chosen."""


@dataclass(frozen=True)
class Origin:
    """A point of another run that a feed starts from."""

    run: str
    at: float
    """Share of that run's length, from its head. [1]"""


@dataclass(frozen=True)
class Feed:
    """A point where power enters a run."""

    at: float
    """Share of the run's length, from its head. [1]"""
    cable: Cable
    origin: Origin | None = None
    """Where the cable comes from; unless said otherwise, from the end of the circuit's lead."""


@dataclass(frozen=True)
class Joint:
    """A place where a run was cut and joined again."""

    at: float
    """Share of the run's length, from its head. [1]"""
    resistance: float  # of each rail [ohm]


@dataclass(frozen=True)
class Reading:
    """What a meter showed while all pixels of the circuit stood at one code."""

    codes: tuple[int, int, int]
    current: float  # out of the pack [A]
    head: float  # at the head of the run [V]
    far_end: float  # at its far end [V]
    run: str


def head_feed() -> tuple[Feed, ...]:
    """Return how a run is fed unless the maker says otherwise: at its head, by 0.3 m of the lead's own AWG 18."""
    return (Feed(0.0, Cable(find(Wire, "awg-18"), 0.3)),)


def short_lead() -> Cable:
    """Return the lead from the pack unless the maker says otherwise: 0.5 m of AWG 18."""
    return Cable(find(Wire, "awg-18"), 0.5)


@dataclass(frozen=True)
class Wiring:
    """What lies between a circuit's pack or supply and the feeds of its runs."""

    lead: Cable = field(default_factory=short_lead)
    plug: float = 0.01
    """Of each contact between pack and lead, unless the maker says otherwise (common practice, no source). [ohm]"""
    pack_droop: float | None = None
    """What the pack's output loses for each ampere; ``None``: 5 % of its voltage at its limit. [ohm]"""
    copper: float = 293.15
    """Temperature of all copper, wires and strip. [K]"""
    place: Place | None = None
    """Where in the piece file the circuit stands."""


@dataclass(frozen=True)
class Head:
    """What stands at the head of a run besides its feeds; ``None``: the tool chooses it."""

    capacitor: float | None = None  # across the supply [F]
    data_resistor: float | None = None  # in the data line, at the board [ohm]
    data_lead: float = 0.3
    """Data wire from the board to the first pixel (our choice where it isn't stated). [m]"""


@dataclass(frozen=True)
class Run:
    """Pixels in one chain on one data pin."""

    name: str
    pin: str
    strip: Strip
    sections: tuple[Section, ...]
    feeds: tuple[Feed, ...] = field(default_factory=head_feed)
    joints: tuple[Joint, ...] = ()
    head: Head = Head()


class Joined(Enum):
    """How the packs of a circuit come together."""

    IN_TURN = "in turn"
    """One at a time, changed by hand."""
    IDEAL_DIODE = "ideal diode"
    PLAIN_DIODE = "plain diode"


@dataclass(frozen=True)
class Bank:
    """A circuit's packs, all of one part, and what is between them and the lead."""

    count: int = 1
    joined: Joined = Joined.IN_TURN
    diode: Diode | None = None
    """Of each pack, where they are joined by diodes."""
    port: Port | None = None
    """What the output in use is by its standard, if the maker says."""
    cycles: float | None = None
    """Full cycles that the packs have been through, if the maker says."""
    other_ports: float = 0.0
    """What else each pack feeds through its other ports. [A]"""
    keep_awake: float = math.inf
    """Resistor across the output of each pack, before its diode. [ohm]"""

    @property
    def is_shared(self) -> bool:
        """Whether several packs feed the circuit at once."""
        return self.count > 1 and self.joined is not Joined.IN_TURN


def total_of(pack: Pack) -> float:
    """Return what all outputs of a pack give together; who states more for one of them has stated it for all. [A]"""
    return max(pack.total_limit.value, pack.current_limit.value)


def limit_of(pack: Pack, bank: Bank) -> float:
    """Return what one pack of a bank may give its circuit: by its label, its port, and what else draws from it. [A]"""
    awake = pack.output_voltage.value / bank.keep_awake
    of_port = bank.port.current_limit.value if bank.port is not None else math.inf
    return min(pack.current_limit.value, of_port, total_of(pack) - bank.other_ports) - awake


@dataclass(frozen=True)
class Circuit:
    """One pack, bank of packs or supply, one board, its runs. All its runs carry the same strip part."""

    name: str
    number: int
    """Counts from 0 in the order of the file."""
    source: Pack | Supply
    """What feeds it: packs, all of one part, or a supply from the mains."""
    board: Board
    current_cap: float
    """What the limiter in the firmware holds the whole circuit to; unless the maker says otherwise,
    80 % of the source's limit (common practice, no source). [A]"""
    runs: tuple[Run, ...]
    wiring: Wiring = field(default_factory=Wiring)
    readings: tuple[Reading, ...] = ()
    bank: Bank = Bank()
    """Of its packs; without meaning where a supply feeds it."""
    outlet: str = ""
    """The mains outlet that its supply hangs on; empty where packs feed it."""

    @property
    def is_on_mains(self) -> bool:
        """Whether a supply from the mains feeds it."""
        return isinstance(self.source, Supply)

    @property
    def pack(self) -> Pack:
        """The pack of a circuit that packs feed; ask :attr:`is_on_mains` first."""
        assert isinstance(self.source, Pack), f"{self.name} is fed from the mains"
        return self.source

    @property
    def source_noun(self) -> str:
        """What a maker calls what feeds it: "pack" or "supply"."""
        return NOUNS[type(self.source)]

    @property
    def source_limit(self) -> float:
        """What one pack, as :func:`limit_of`, or the supply may give this circuit. [A]"""
        if isinstance(self.source, Supply):
            return self.source.current_limit.value
        return limit_of(self.source, self.bank)

    @property
    def source_title(self) -> str:
        """What the circuit is fed by, such as "2 × 10 Ah pack, 5 V 2 A output"."""
        return self.source.title if self.bank.count == 1 else f"{self.bank.count} × {self.source.title}"

    @property
    def strip(self) -> Strip:
        """The strip part that all runs of this circuit share."""
        return self.runs[0].strip


@dataclass(frozen=True)
class Work:
    """When there is work at the piece, and by how many."""

    begin: datetime.date | None = None
    """The first day; ``None``: not stated."""
    from_time: float = 17 * 3600.0  # of each day [s]
    hours: float = 4 * 3600.0  # each day [s]
    helpers: int = 0


class PowerLoss(Enum):
    """What a circuit does when its power comes back."""

    COUNT_DOWN_AGAIN = "count down again"
    GO_ON = "go on"


@dataclass(frozen=True)
class Standby:
    """The countdown's indicator: as many pixels as minutes left, flashing once a second."""

    colour: str
    """Hex colour as seen on a screen, such as "#ffb060"."""
    level: float  # share of full drive [1]
    first: int  # pixel of the first run that shows the first minute
    every: int  # pixels from one indicator pixel to the next
    after_power_loss: PowerLoss = PowerLoss.COUNT_DOWN_AGAIN
    switch_on_spread: float = 120.0  # from the first circuit that is switched on to the last [s]


class Ending(Enum):
    """What comes after the last cue."""

    REPEAT = "repeat"
    HOLD = "hold"
    DARK = "dark"


@dataclass(frozen=True)
class Allowances:
    """What is cut longer than the way from end to end (defaults: common practice, no source). [m]"""

    solder: float = 0.03
    """Of each wire: both ends stripped and soldered."""
    loop: float = 0.1
    """Of each cable: a loop from which water drips and on which nothing pulls."""
    relief: float = 0.05
    """Of each end of a cable: tied back before its joint."""
    knots: float = 0.8
    """Of each carrier: a knot at either end."""

    def cable(self, way: float) -> float:
        """Return what is cut of each wire of a cable whose ends are this far apart along its way. [m]"""
        return way + self.solder + self.loop + 2 * self.relief


@dataclass(frozen=True)
class Cue:
    """A look, its settings and its time on the cue sheet."""

    look: str
    length: float  # [s]
    fade: float  # cross-fade from what came before, within this cue's own length [s]
    settings: Mapping[str, Value]
    """Plain numbers, quantities as written, hex colours, or changes from one to another over the cue."""
    stagger: float = 0.0
    """By how much each circuit is behind the one before it. [s]"""


@dataclass(frozen=True)
class ShowSheet:
    """The cue sheet and what holds for all of it."""

    frame_period: float  # whole milliseconds [s]
    brightness: float  # share of full drive that the looks may use [1]
    ending: Ending
    cues: tuple[Cue, ...]
    is_dithered: bool = False
    """Whether what lies between two codes is spread over frames and neighbouring pixels."""
    is_balanced: bool = False
    """Whether equal red, green and blue are made to look white, at the cost of brightness."""


@dataclass(frozen=True)
class SourceMap:
    """Where each entry of the piece file stands, by its path of keys and list positions."""

    places: Mapping[tuple[str | int, ...], Place]

    def find(self, *path: str | int) -> Place | None:
        """Return the place of an entry, or of the nearest table around it."""
        for end in range(len(path), 0, -1):
            if path[:end] in self.places:
                return self.places[path[:end]]
        return None


@dataclass(frozen=True)
class Piece:
    """The whole work."""

    file: Path
    brief: Brief
    members: tuple[Member, ...]
    circuits: tuple[Circuit, ...]
    standby: Standby
    show: ShowSheet
    source: SourceMap
    allowances: Allowances = Allowances()
    work: Work = Work()

    @property
    def has_packs(self) -> bool:
        """Whether packs feed any of its circuits."""
        return any(not each.is_on_mains for each in self.circuits)

    @property
    def has_carried(self) -> bool:
        """Whether people carry any of it by hand."""
        return any(isinstance(member.shape, Staff) for member in self.members)

    @property
    def has_standing(self) -> bool:
        """Whether any of it stands or hangs where it is."""
        return any(not isinstance(member.shape, Staff) for member in self.members)

    @property
    def has_mains(self) -> bool:
        """Whether any of its circuits hangs on the mains."""
        return any(each.is_on_mains for each in self.circuits)

    @property
    def sources_noun(self) -> str:
        """What a maker calls what feeds it: "pack", "supply", or "pack or supply"."""
        return " or ".join(sorted({each.source_noun for each in self.circuits})) or "pack"
