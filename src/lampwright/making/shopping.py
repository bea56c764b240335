"""The shopping list: what a piece needs, less what lies on the shelf, plus spares, as things are sold."""

from __future__ import annotations

import math
import tomllib
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

from lampwright.layout.model import Layout
from lampwright.making.lists import ShelfRow, offered
from lampwright.making.materials import MaterialCuts
from lampwright.making.substitutes import substitute_for
from lampwright.parts import Offer, Status, load_catalogue, mass_of
from lampwright.piece.model import Circuit, FixedSection, SpanSection
from lampwright.power import bulk_of, capacitors_for, fuses_of, line_resistors, size_for
from lampwright.units import format_quantity, parse


@dataclass(frozen=True)
class Line:
    """One line of the list."""

    part: str
    kind: str
    sold_as: str
    """Such as "3 m", "pack of 10"; empty where it is sold singly."""
    needed: int
    """How many the piece takes; of what is cut, how many lengths, those from the shelf included."""
    on_shelf: int
    """How many of those are there already."""
    spare: int
    buy: int
    """How many packs or lengths are bought."""
    price: int | None
    """Of one pack or length, in hundredths; ``None``: neither in the maker's list nor in the catalogue."""
    is_judged: bool
    """Whether that price is the catalogue's own judgement, not the maker's list."""
    mass: float | None
    """Of all that is bought; ``None``: the catalogue doesn't say. [kg]"""
    days: float | None
    """Until it is there; ``None``: neither in the maker's list nor in the catalogue. [d]"""
    substitute: str
    """A part of the catalogue that serves too; empty: none, or not looked for."""
    reclaim: float
    """Share of the price that it is worth after the show. [1]"""

    @property
    def total(self) -> int | None:
        """Price of all that is bought, in hundredths."""
        return None if self.price is None else self.price * self.buy


@dataclass(frozen=True)
class ShoppingList:
    """All lines, and what they come to."""

    lines: tuple[Line, ...]

    @property
    def total(self) -> int:
        """Price of all that has a price, in hundredths."""
        return sum(line.total or 0 for line in self.lines)

    @property
    def judged(self) -> int:
        """What of the total rests on the catalogue's own judgement, in hundredths."""
        return sum(line.total or 0 for line in self.lines if line.is_judged)

    @property
    def unpriced(self) -> tuple[Line, ...]:
        """Lines that must be bought and have no price: the total lacks them."""
        return tuple(line for line in self.lines if line.buy and line.price is None)

    @property
    def reclaimable(self) -> int:
        """What the parts are worth after the show, in hundredths."""
        return round(sum((line.total or 0) * line.reclaim for line in self.lines))

    @property
    def mass(self) -> float:
        """Of all whose mass is known. [kg]"""
        return sum(line.mass or 0.0 for line in self.lines)

    @property
    def longest_wait(self) -> float:
        """Until the last of what has a delivery time is there. [d]"""
        return max((line.days or 0.0 for line in self.lines if line.buy), default=0.0)


def shopping_list(
    layout: Layout, cuts: Sequence[MaterialCuts], shelf: Sequence[ShelfRow] = (), shop: Sequence[Offer] = ()
) -> ShoppingList:
    """Return what is to be bought for a piece that is cut by these plans."""
    lines = [line for each in cuts for line in _cut_lines(each, shop)]
    needed: Counter[tuple[str, str]] = Counter()
    for part, kind, count in (*_needs(layout), *_tube_needs(layout, cuts)):
        needed[part, kind] += count
    lines += [line_for(part, kind, count, shelf, shop) for (part, kind), count in needed.items()]
    return ShoppingList(tuple(lines))


def _tube_needs(layout: Layout, cuts: Sequence[MaterialCuts]) -> Iterable[tuple[str, str, int]]:
    """Yield what joins tube where it is longer than sold, what closes its ends, and tape to hold strip on it."""
    for each in cuts:
        if each.material.kind == "tube" and each.plan.n_joint:
            yield f"sleeve for {each.material.part}", "small", each.plan.n_joint
    for member in layout.piece.members:
        made_of = "tube" if member.support.tube is None else member.support.tube.name
        yield f"end cap for {made_of}", "small", 2
    fixed = sum(
        section.length
        for circuit in layout.circuits
        for run in circuit.runs
        for section in run.sections
        if isinstance(section.section, FixedSection)
    )
    tape = _rules().tape
    yield "tape, roll", "used up", math.ceil(fixed / tape.every * tape.takes / tape.roll - 1e-9)


def _needs(layout: Layout) -> Iterable[tuple[str, str, int]]:
    """Yield parts that aren't cut: their name, their kind, how many."""
    for each in layout.circuits:
        circuit = each.circuit
        bank = circuit.bank
        yield circuit.source.name, circuit.source_noun, bank.count
        yield circuit.board.name, "board", 1
        for fitted in fuses_of(circuit):
            yield fitted.fuse.name, "fuse", 1
            yield "fuse holder", "small", 1
        yield f"plug for a {circuit.source_noun}", "small", bank.count if bank.is_shared else 1
        if bank.is_shared and bank.diode is not None:
            yield bank.diode.name, "small", bank.count
        if math.isfinite(bank.keep_awake):
            yield _keep_awake(circuit), "small", bank.count
        for run in each.runs:
            for section in run.sections:
                if isinstance(section.section, SpanSection) and section.section.hold.fixing is not None:
                    fixing = section.section.hold.fixing
                    yield fixing.tie.name, "small", 2 * fixing.count
        for bulk in bulk_of(each):
            if bulk.capacitance:
                yield _capacitor(bulk.capacitance, circuit.source.output_voltage.value), "small", 1
        for line in line_resistors(each):
            if line.resistance:
                yield _resistor(line.resistance), "small", 1
    times = {
        "circuit": len(layout.circuits),
        "run": sum(len(each.runs) for each in layout.circuits),
        "piece": 1,
    }
    for item in _rules().items:
        yield item.part, item.kind, item.count * times[item.per]


def _capacitor(capacitance: float, voltage: float) -> str:
    """Return the capacitor of the catalogue with this value and a rating for this rail, else its value alone."""
    same = [each.name for each in capacitors_for(voltage) if math.isclose(each.capacitance.value, capacitance)]
    return same[0] if same else f"capacitor {format_quantity(capacitance, 'capacitance')}"


def _resistor(resistance: float) -> str:
    """Return the resistor of the catalogue with this value, else its value alone."""
    offered = load_catalogue().resistors.values()
    same = [each.name for each in offered if math.isclose(each.resistance.value, resistance)]
    return same[0] if same else f"resistor {format_quantity(resistance, 'resistance')}"


def _keep_awake(circuit: Circuit) -> str:
    """Return the smallest resistor of the catalogue that keeps a pack awake and bears the heat, else its figures."""
    ohms, volts = circuit.bank.keep_awake, circuit.pack.output_voltage.value
    size = size_for(volts**2 / ohms)
    offered = load_catalogue().resistors.values()
    fits = [each for each in offered if math.isclose(each.resistance.value, ohms) and each.power.value >= size]
    if not fits:
        return f"resistor {format_quantity(ohms, 'resistance')} {format_quantity(size, 'power')}"
    return min(fits, key=lambda each: each.power.value).name


def line_for(part: str, kind: str, needed: int, shelf: Sequence[ShelfRow], shop: Sequence[Offer]) -> Line:
    rule = _rules().kinds[kind]
    spare = math.ceil(needed * rule.spare - 1e-9)
    there = min(needed + spare, sum(row.count for row in shelf if row.part == part and row.length is None))
    missing = needed + spare - there
    offers = offered(part, shop, is_cut=False)
    offer = min(offers, key=lambda row: _cost(row, missing), default=Offer(part, None, None, 1, -1.0))
    buy = -(-missing // offer.pack)
    mass = mass_of(part)
    return Line(
        part=part,
        kind=kind,
        sold_as="" if offer.pack == 1 else f"pack of {offer.pack}",
        needed=needed,
        on_shelf=there,
        spare=spare,
        buy=buy,
        price=offer.price,
        is_judged=offer.price is not None and offer.status is Status.JUDGEMENT,
        mass=None if mass is None else mass * buy * offer.pack,
        days=offer.days if offers else None,
        substitute=substitute_for(part),
        reclaim=rule.reclaim,
    )


def _cost(offer: Offer, missing: int) -> tuple[float, float]:
    """Return what this offer costs for so many; without a price it comes last."""
    packs = -(-missing // offer.pack)
    return (math.inf if offer.price is None else offer.price * packs, offer.days)


def _cut_lines(cuts: MaterialCuts, shop: Sequence[Offer]) -> Iterable[Line]:
    material = cuts.material
    used: Counter[tuple[str, int, int]] = Counter(
        (bar.stock.name, bar.stock.length, bar.stock.cost) for bar in cuts.plan.bars if not bar.stock.is_offcut
    )
    from_shelf = sum(bar.stock.is_offcut for bar in cuts.plan.bars)
    if from_shelf:
        yield _cut_line(cuts, "offcuts", from_shelf, from_shelf, None, 0.0, None)
    for (name, length, cost), count in used.items():
        offers = offered(material.part, shop, is_cut=True)
        same = [row for row in offers if math.floor((row.length or 0.0) / material.unit + 1e-6) == length]
        days = min((row.days for row in same), default=None)
        price = cost if cuts.is_priced else None
        yield _cut_line(cuts, name, count, 0, price, length * material.unit, days)


def _cut_line(
    cuts: MaterialCuts, name: str, needed: int, there: int, price: int | None, length: float, days: float | None
) -> Line:
    per_metre = mass_of(cuts.material.part)
    buy = needed - there
    return Line(
        part=cuts.material.part,
        kind=cuts.material.kind,
        sold_as=name,
        needed=needed,
        on_shelf=there,
        spare=0,
        buy=buy,
        price=price,
        is_judged=price is not None and cuts.is_judged,
        mass=None if per_metre is None or not buy else per_metre * length * buy,
        days=days,
        substitute=substitute_for(cuts.material.part),
        reclaim=_rules().kinds[cuts.material.kind].reclaim,
    )


@dataclass(frozen=True)
class _Item:
    part: str
    per: str
    count: int
    kind: str


@dataclass(frozen=True)
class _KindRule:
    spare: float
    reclaim: float


@dataclass(frozen=True)
class _Tape:
    """How strip is taped on: one wrap every so far, what a wrap takes, what is on a roll. [m]"""

    every: float
    takes: float
    roll: float


@dataclass(frozen=True)
class _Rules:
    items: tuple[_Item, ...]
    kinds: dict[str, _KindRule]
    tape: _Tape


@cache
def _rules() -> _Rules:
    text = resources.files("lampwright.making").joinpath("data", "shopping.toml").read_text(encoding="utf-8")
    raw = tomllib.loads(text)
    kinds = {
        kind: _KindRule(parse(row["spare"], "share"), parse(row["reclaim"], "share"))
        for kind, row in raw["kind"].items()
    }
    tape = _Tape(*(parse(raw["tape"][key], "length") for key in ("every", "takes", "roll")))
    return _Rules(tuple(_Item(**row) for row in raw["item"]), kinds, tape)
