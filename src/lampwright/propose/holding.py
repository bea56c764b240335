"""Search what holds a piece up, apart from what lights it: tube, bases, carrier, weak link and fixings."""

from __future__ import annotations

import dataclasses
import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from lampwright.findings.model import Severity
from lampwright.layout import Layout
from lampwright.parts import Tube, load_catalogue
from lampwright.piece.model import Base, Fixing, Member, SpanSection, Staff
from lampwright.piece.path import path_length
from lampwright.propose.bearing import Bearing, Held, is_judged
from lampwright.propose.rig import Footing, Hanging, OpenMember, Rig
from lampwright.propose.rig_price import RigPrices
from lampwright.propose.wish import GarlandEntry, WishEntry
from lampwright.rigging import check_rigging
from lampwright.rigging.fixings import LINK_EXCESS, tie_strength
from lampwright.rigging.posts import n_leg

MOST_TIES = 4
"""Cable ties at one end of a carrier (our choice: more are hardly drawn tight alike)."""

LOAD, CARRY = 20.0, 60.0
"""What one person carries at a time [kg], and how long it takes there and back [s] (common practice, no source)."""

MOST_COMBINATION = 20_000
"""Ways to choose tube for several entries; beyond so many, all that is open is made of one tube (our choice)."""

COUNTS = ("cost", "mass", "work", "set_up")

Lay = Callable[[Rig], Layout]
"""Lays a strip and a grouping out on a rig."""


@dataclass(frozen=True)
class RigOption:
    """A rig, and what it adds to whatever is lit on it."""

    rig: Rig
    cost: int  # tube, cord, and what joins and ties them, in hundredths of the currency
    mass: float  # members, bases whose mass is known, carriers [kg]
    work: float  # of hands, cutting tube [s]
    set_up: float  # carrying bases, of all hands together [s]
    wind: float  # mean of ten minutes, up to which nothing was found to give way [m/s]
    is_clean: bool
    """Whether no check warns that another choice would silence."""


@dataclass(frozen=True)
class Rigs:
    """Everything that holds a layout in a wind."""

    options: tuple[RigOption, ...]
    """Those that no other beats on every count, the cheapest first."""
    n_option: int
    n_weighed: int
    is_complete: bool


@dataclass(frozen=True)
class _Hung:
    """What a garland hangs by, if there is one, and what that comes to."""

    hanging: Hanging | None
    cost: int  # in hundredths of the currency
    mass: float  # [kg]
    is_clean: bool


@dataclass(frozen=True)
class _Choice:
    """What one entry may be made of, on what it may stand."""

    footing: Footing
    held: Held
    members: tuple[Member, ...]
    base_mass: float  # of all its feet, where it is known [kg]


def find_rigs(wish: WishEntry, entries: Sequence[OpenMember], lay: Lay, prices: RigPrices, wind: float) -> Rigs:
    """Return what holds a layout in this wind. [m/s]

    Exact: cords are gone through, for each the entries one by one, which bear nothing of one another but what the cord
    pulls; then all their combinations, whose tube is cut together. A base has no price, so that the lightest that holds
    is enough.
    """
    hangings = _hangings(wish.garland, lay)
    found: list[RigOption] = []
    n_option = n_weighed = 0
    is_complete = True
    for start in hangings:
        layout = lay(Rig((), start))
        groups = [(entry, _members_of(entry, layout)) for entry in entries]
        groups = [(entry, members) for entry, members in groups if members]
        is_open = start is not None or any(_is_open(entry) for entry, _ in groups)
        if not is_open:
            closed = _as_stated(layout, prices, wind)
            return Rigs((closed,) if closed is not None else (), 1, 1, True)
        tubes = [len(_tubes(entry, members, wish)) for entry, members in groups]
        n_option += math.prod(tubes)
        bearing = Bearing(layout, wind)
        hung = _hung_by(bearing, start, wish.garland, prices)
        if hung is None:
            continue
        link = 0.0 if hung.hanging is None else hung.hanging.weak_link
        each = [list(_choices(bearing, entry, members, wish, link)) for entry, members in groups]
        n_weighed += sum(tubes)
        combinations, is_whole = _combined(each)
        is_complete &= is_whole
        found += [_weigh(layout, choices, hung, prices, wind) for choices in combinations]
    return Rigs(_unbeaten(found), n_option, n_weighed, is_complete)


def what_bears(layout: Layout) -> tuple[object, ...]:
    """Return all that a rig knows of a layout: layouts for which this is equal are held by the same rigs.

    Strip hangs in spans and legs, and is carried on staffs; on members that stand, its mass is not counted.
    """
    found: list[object] = []
    for circuit in layout.circuits:
        for run in circuit.runs:
            mass = run.run.strip.mass.value
            for each in run.sections:
                section = each.section
                if isinstance(section, SpanSection) or section.leg is not None:
                    found.append((section.name, round(each.length, 9), mass))
                elif isinstance(section.member.shape, Staff):
                    found.append((section.member.name, round(each.length, 9), mass))
    return tuple(sorted(found, key=str))


def _members_of(entry: OpenMember, layout: Layout) -> tuple[Member, ...]:
    """Return the members of an entry, those that the checks say something of."""
    return tuple(each for each in layout.piece.members if entry.owns(each) and is_judged(each))


def _is_open(entry: OpenMember) -> bool:
    return not entry.has_tube or not entry.has_foot


def _as_stated(layout: Layout, prices: RigPrices, wind: float) -> RigOption | None:
    """Return the rig that the brief states whole; ``None``: it gives way."""
    brief = dataclasses.replace(layout.piece.brief, wind=wind)
    found = check_rigging(dataclasses.replace(layout, piece=dataclasses.replace(layout.piece, brief=brief)))
    if any(each.severity is Severity.FAIL for each in found):
        return None
    # a wind in which everything comes down anyway is the brief's own, and no choice silences it
    is_clean = all(each.severity is not Severity.WARN or each.code == "RIGGING-008" for each in found)
    return _weigh(layout, (), dataclasses.replace(_hung_as_laid(layout, prices), is_clean=is_clean), prices, wind)


def _hangings(garland: GarlandEntry | None, lay: Lay) -> Iterator[Hanging | None]:
    """Yield what a garland may hang by, its link and fixing still to be chosen; once nothing where there is none."""
    if garland is None or not _has_span(lay(Rig())):
        yield None
        return
    cords = [garland.carrier] if garland.carrier is not None else load_catalogue().cords.values()
    tie = next(iter(load_catalogue().cable_ties.values()))
    for cord in cords:
        yield Hanging(cord, garland.weak_link or 1.0, tie, 1, 0.0)


def _has_span(layout: Layout) -> bool:
    return any(isinstance(s.section, SpanSection) for c in layout.circuits for r in c.runs for s in r.sections)


def _hung_as_laid(layout: Layout, prices: RigPrices) -> _Hung:
    """Return what a garland hangs by as the layout has it."""
    price, mass = prices.cord(layout)
    holds = [
        s.section.hold
        for c in layout.circuits
        for r in c.runs
        for s in r.sections
        if isinstance(s.section, SpanSection)
    ]
    fixing = holds[0].fixing if holds else None
    ties = 0 if fixing is None else prices.ties(fixing.tie, 2 * fixing.count * len(holds))
    return _Hung(None, price + ties, mass, True)


def _hung_by(bearing: Bearing, start: Hanging | None, garland: GarlandEntry | None, prices: RigPrices) -> _Hung | None:
    """Return what a garland hangs by; ``None`` where the cord, its link or what ties it gives way."""
    if start is None or garland is None:
        return _Hung(None, 0, 0.0, True)
    findings = bearing.cord_findings
    if any(each.severity is Severity.FAIL for each in findings):
        return None
    link = garland.weak_link if garland.weak_link is not None else _rounded_up(bearing.least_link)
    fixing = garland.fixing
    ties = _cheapest_ties(link, len(bearing.spans), prices) if fixing is None else Fixing(fixing.tie, fixing.count)
    if link < bearing.least_link or ties is None or ties.count * tie_strength(ties.tie) < LINK_EXCESS * link:
        return None
    is_clean = link <= bearing.most_link and all(each.severity is not Severity.WARN for each in findings)
    price, mass = prices.cord(bearing.layout)
    price += prices.ties(ties.tie, 2 * ties.count * len(bearing.spans))
    return _Hung(Hanging(start.carrier, link, ties.tie, ties.count, bearing.slack), price, mass, is_clean)


def _rounded_up(force: float) -> float:
    """Return the rating to write for a link that must hold a force: to the next newton, from 50 N on the next five."""
    step = 1.0 if force < 50 else 5.0
    return step * math.ceil(force / step - 1e-9)


def _cheapest_ties(link: float, n_span: int, prices: RigPrices) -> Fixing | None:
    """Return the cheapest ties that hold longer than a link [N]; ``None``: no few of the catalogue's do."""
    found = []
    for tie in load_catalogue().cable_ties.values():
        count = max(1, math.ceil(LINK_EXCESS * link / tie_strength(tie) - 1e-9))
        if count <= MOST_TIES:
            found.append((prices.ties(tie, 2 * count * n_span), count, tie.name, Fixing(tie, count)))
    return min(found, key=lambda each: each[:3])[3] if found else None


def _tubes(entry: OpenMember, members: Sequence[Member], wish: WishEntry) -> Sequence[Tube | None]:
    """Return what an entry's members may be made of."""
    if entry.has_tube:
        return [members[0].support.tube]
    return wish.tubes or list(load_catalogue().tubes.values())


def _choices(
    bearing: Bearing, entry: OpenMember, members: tuple[Member, ...], wish: WishEntry, link: float
) -> Iterator[_Choice]:
    """Yield every tube of an entry that holds, on the lightest base that does."""
    feet = sum(n_leg(each) for each in members)
    stated = members[0].support.base
    is_footed = entry.has_foot or isinstance(members[0].shape, Staff)
    for tube in _tubes(entry, members, wish):
        base = stated
        if not is_footed and tube is not None:
            like = Base(wish.base.step, wish.base.reach, wish.base.legs)
            base = bearing.least_base(members, tube, like, wish.base.step, link)
            if base is None:
                continue
        held = bearing.holds(members, tube, base, link)
        if held is not None:
            footing = Footing(entry, None if entry.has_tube else tube, None if is_footed else base)
            yield _Choice(footing, held, members, 0.0 if base is None else base.mass * feet)


def _combined(each: Sequence[Sequence[_Choice]]) -> tuple[Sequence[tuple[_Choice, ...]], bool]:
    """Return one choice for each entry in every combination, and whether none was left out."""
    if math.prod(len(choices) for choices in each) <= MOST_COMBINATION:
        return list(product(*each)), True
    tubes = {choice.footing.tube for choices in each for choice in choices if choice.footing.tube is not None}
    found = []
    for tube in sorted(tubes, key=lambda made_of: made_of.name):
        alike = [[c for c in choices if c.footing.tube in (None, tube)] for choices in each]
        if all(alike):
            found.append(tuple(choices[0] for choices in alike))
    return found, False


def _weigh(
    layout: Layout,
    choices: Sequence[_Choice],
    hung: _Hung,
    prices: RigPrices,
    wind: float,
) -> RigOption:
    made_of: dict[str, Tube | None] = {each.name: each.support.tube for each in layout.piece.members}
    ballast = sum(
        each.support.base.mass * n_leg(each) for each in layout.piece.members if each.support.base and not choices
    )
    for choice in choices:
        made_of |= {each.name: choice.held.tube for each in choice.members}
        ballast += choice.base_mass
    parts: dict[str, list[str]] = defaultdict(list)
    for name, tube in made_of.items():
        parts["tube" if tube is None else tube.name].append(name)
    cost = n_piece = 0
    for part, names in parts.items():
        price, count = prices.tube(part, frozenset(names))
        cost, n_piece = cost + price, n_piece + count
    mass = sum(
        tube.mass.value * path_length(member.shape)
        for member in layout.piece.members
        if (tube := made_of[member.name]) is not None
    )
    return RigOption(
        Rig(tuple(each.footing for each in choices if each.footing.tube or each.footing.base), hung.hanging),
        cost + hung.cost,
        mass + ballast + hung.mass,
        prices.cutting_time * n_piece,
        CARRY * ballast / LOAD,
        wind,
        hung.is_clean and all(each.held.is_clean for each in choices),
    )


def _unbeaten(options: Sequence[RigOption]) -> tuple[RigOption, ...]:
    """Return those that no other beats or equals on every count, one that is not clean never before one that is."""
    kept: list[RigOption] = []
    table = [(*(getattr(each, name) for name in COUNTS), not each.is_clean) for each in options]
    rows = np.array(table, dtype=np.float64).reshape(-1, len(COUNTS) + 1)
    places: list[int] = []
    for index in np.lexsort(rows.T[::-1]):
        if not places or not bool(np.any(np.all(rows[places] <= rows[index] + 1e-9, axis=1))):
            places.append(int(index))
            kept.append(options[index])
    return tuple(kept)
