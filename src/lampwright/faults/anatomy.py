"""A circuit as faults see it: segments of strip, the copper that joins them, and the order of the data."""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.faults.kinds import Place
from lampwright.layout.model import CircuitLayout, RunLayout
from lampwright.piece.model import Anchor, FixedSection, SpanSection
from lampwright.power.bank import one_pack_holds
from lampwright.power.guard import board_supply

HUB = 0
"""Where board and feeds begin: the end of the lead."""


@dataclass(frozen=True)
class Segment:
    """Pixels of one run with no place among them where its copper was cut or goes from section to section."""

    run: int
    section: str
    first: int  # pixel within the circuit
    n_pixel: int
    is_span: bool
    members: tuple[str, ...]
    """What it hangs on: one member, or the two at a span's ends."""


@dataclass(frozen=True)
class Link:
    """Copper between two nodes, both rails; node 0 is the hub, node i the segment i - 1."""

    name: str
    start: int
    end: int
    is_feed: bool
    is_joint: bool = False
    """Made by the maker at a stated joint; otherwise a feed or a transition between sections."""
    is_fused: bool = False
    """Whether a fuse of its own is in it."""


@dataclass(frozen=True)
class Anatomy:
    """A circuit, taken apart where faults can cut it."""

    name: str
    n_pixel: int
    segments: tuple[Segment, ...]
    links: tuple[Link, ...]
    runs: tuple[tuple[int, ...], ...]
    """Segments of each run in the order of the data."""
    run_names: tuple[str, ...]
    has_backup: bool
    """Whether pixels have a second data line that bridges one dead neighbour."""
    has_far_data: bool = False
    """Whether the board also sends to the far end of each run, and the two halves meet in its middle."""
    n_pack: int = 1
    """Packs that feed it at once, of which any one alone keeps it going; more than two count as two."""
    outlet: str = ""
    """The mains outlet that its supply hangs on; empty where packs feed it."""
    has_board_fuse: bool = False
    """Whether the board's supply has a fuse of its own."""

    @property
    def home(self) -> str:
        """The member at which pack and board stand: the one that the first run begins on."""
        return self.segments[0].members[0]

    @property
    def members(self) -> frozenset[str]:
        """Every member that this circuit needs."""
        return frozenset(name for segment in self.segments for name in segment.members)


def take_apart(layout: CircuitLayout) -> Anatomy:
    """Return a circuit's segments and links."""
    segments: list[Segment] = []
    links: list[Link] = []
    runs: list[tuple[int, ...]] = []
    for number, run in enumerate(layout.runs):
        start = len(segments)
        cuts = _cuts(layout, run)
        for place, (name, is_joint) in cuts.items():
            section = next(each for each in run.sections if each.first <= place < each.first + each.n_pixel)
            after = min((other for other in cuts if other > place), default=run.first + run.n_pixel)
            is_span = isinstance(section.section, SpanSection)
            held = _members(section.section)
            segments.append(Segment(number, section.section.name, place, after - place, is_span, held))
            if len(segments) - start > 1:
                links.append(Link(name, len(segments) - 1, len(segments), False, is_joint))
        runs.append(tuple(range(start, len(segments))))
    for number, run in enumerate(layout.runs):
        for feed in run.run.feeds:
            origin = HUB
            if feed.origin is not None:
                other = next(i for i, each in enumerate(layout.runs) if each.run.name == feed.origin.run)
                origin = _node_at(layout.runs[other], feed.origin.at, segments, runs[other])
            end = _node_at(run, feed.at, segments, runs[number])
            links.append(
                Link(
                    f"feed of {run.run.name} at {100 * feed.at:.4g} %",
                    origin,
                    end,
                    True,
                    is_fused=feed.cable.fuse is not None,
                )
            )
    return Anatomy(
        layout.circuit.name,
        layout.n_pixel,
        tuple(segments),
        tuple(links),
        tuple(runs),
        tuple(run.run.name for run in layout.runs),
        layout.circuit.strip.has_second_data,
        has_board_fuse=board_supply(layout.circuit).fuse is not None,
        n_pack=2 if one_pack_holds(layout.circuit) else 1,
        outlet=layout.circuit.outlet,
    )


def place_within(segment: Segment) -> Place:
    """Return the place of what lies within a segment."""
    return Place.FREE if segment.is_span else Place.FIXED


def place_before(anatomy: Anatomy, number: int) -> Place:
    """Return the place at which a segment begins: a joint has that of the section it lies in."""
    segment = anatomy.segments[number]
    of_run = anatomy.runs[segment.run]
    if number == of_run[0]:
        return Place.HEAD
    before = anatomy.segments[of_run[of_run.index(number) - 1]]
    return place_within(segment) if before.section == segment.section else Place.TRANSITION


def _cuts(layout: CircuitLayout, run: RunLayout) -> dict[int, tuple[str, bool]]:
    """Return the first pixel of each segment of a run, with the name of the cut and whether it is a joint."""
    name = run.run.name
    found = {run.first: (f"head of {name}", False)}
    for before, after in zip(run.sections, run.sections[1:], strict=False):
        if after.n_pixel:
            found[after.first] = (f"{name}, from {before.section.name} to {after.section.name}", False)
    for joint in run.run.joints:
        place = run.first + round(joint.at * run.n_pixel)
        if run.first < place < run.first + run.n_pixel:
            found[place] = (f"joint of {name} at {100 * joint.at:.4g} %", True)
    assert layout.n_pixel >= run.first + run.n_pixel
    return dict(sorted(found.items()))


def _node_at(run: RunLayout, share: float, segments: list[Segment], of_run: tuple[int, ...]) -> int:
    """Return the node at a share of a run's length."""
    place = run.first + min(run.n_pixel - 1, int(share * run.n_pixel))
    return next(i for i in of_run if segments[i].first <= place < segments[i].first + segments[i].n_pixel) + 1


def _members(section: FixedSection | SpanSection) -> tuple[str, ...]:
    if isinstance(section, FixedSection):
        other = section.member if section.leg is None else section.leg.other
        return tuple(dict.fromkeys((section.member.name, other.name)))
    ends: tuple[Anchor, Anchor] = (section.start, section.end)
    return tuple(dict.fromkeys(anchor.member.name for anchor in ends))
