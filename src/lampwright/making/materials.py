"""What a piece needs of all that is cut: tube, strip, wire, cord."""

from __future__ import annotations

import math
import tomllib
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from itertools import pairwise

from lampwright.layout import bent_tube
from lampwright.layout.model import CircuitLayout, Layout, RunLayout
from lampwright.making.bent_stock import plan_with_bent
from lampwright.making.cutting import Bar, CutPlan, Piece, Stock
from lampwright.making.harness import Harness, harness_of, strip_cuts, wires_of
from lampwright.making.lists import ShelfRow, offered
from lampwright.parts import Offer, Status
from lampwright.piece.model import SpanSection
from lampwright.piece.path import path_length
from lampwright.rigging.spans import rig_spans
from lampwright.units import format_quantity, parse


@dataclass(frozen=True)
class Material:
    """One sort of material and the pieces that are cut from it."""

    part: str
    """As the maker's lists call it, such as "conduit-1" or "awg-18 red"; "tube", "cord" where the file names none."""
    kind: str
    """One of tube, strip, wire, cord."""
    unit: float  # of all whole numbers: 1 mm, or one pitch of the strip [m]
    pieces: tuple[Piece, ...]

    def text(self, length: int) -> str:
        """Return a length for the maker; strip also in pixels, between which alone it may be cut."""
        metres = format_quantity(length * self.unit, "length", 4)
        return f"{length} pixels ({metres})" if self.kind == "strip" else metres


@dataclass(frozen=True)
class MaterialCuts:
    """A material, its plan, whether the plan's cost is money or length, and whether that money is our judgement."""

    material: Material
    plan: CutPlan
    is_priced: bool
    is_judged: bool = False


def materials_of(layout: Layout) -> tuple[Material, ...]:
    """Return what is cut for a piece, by part; wire for each conductor of each circuit's harness.

    Wire and cord are as much longer than their way as the piece file's allowances say.
    """
    allowances = layout.piece.allowances
    carriers = {(span.circuit, span.section.name): span.length for span in rig_spans(layout)}
    tube: dict[str, list[Piece]] = defaultdict(list)
    for member in layout.piece.members:
        made_of = "tube" if member.support.tube is None else member.support.tube.name
        length = _millimetres(path_length(member.shape))
        tube[made_of].append(Piece(member.name, length, bent=bent_tube(member.shape)))
    wire: dict[str, list[Piece]] = defaultdict(list)
    strip: dict[str, list[Piece]] = defaultdict(list)
    pitch: dict[str, float] = {}
    cord: dict[str, list[Piece]] = defaultdict(list)
    for circuit in layout.circuits:
        name = circuit.circuit.name
        for laid in wires_of(circuit, allowances):
            for gauge, colour in laid.strands:
                wire[f"{gauge.name} {colour}"].append(Piece(laid.label, _millimetres(laid.cut)))
        for run in circuit.runs:
            part = run.run.strip.name
            pitch[part] = 1.0 / run.run.strip.density.value
            strip[part] += [piece for piece, _ in _strip_pieces(circuit, run, f"{name} {run.run.name}")]
            for section in run.sections:
                if isinstance(section.section, SpanSection):
                    carrier = section.section.hold.carrier
                    made_of = "cord" if carrier is None else carrier.name
                    carried = carriers[name, section.section.name] + allowances.knots
                    cord[made_of].append(Piece(section.section.name, _millimetres(carried)))
    found = [Material(part, "tube", 0.001, tuple(pieces)) for part, pieces in sorted(tube.items())]
    found += [Material(part, "strip", pitch[part], tuple(pieces)) for part, pieces in sorted(strip.items())]
    found += [Material(part, "wire", 0.001, tuple(pieces)) for part, pieces in sorted(wire.items())]
    found += [Material(part, "cord", 0.001, tuple(pieces)) for part, pieces in sorted(cord.items())]
    return tuple(each for each in found if each.pieces)


def cut_all(layout: Layout, shelf: Sequence[ShelfRow] = (), shop: Sequence[Offer] = ()) -> tuple[MaterialCuts, ...]:
    """Return a cut plan for each material of a piece.

    Raises
    ------
    MakerError
        MAKING-002 where what is sold and on the shelf doesn't suffice.
    """
    return tuple(cut_material(material, shelf, shop) for material in materials_of(layout))


def cut_material(material: Material, shelf: Sequence[ShelfRow], shop: Sequence[Offer]) -> MaterialCuts:
    """Return the cut plan of one material; where a price is missing the least length is bought."""
    rule = _rules()[material.kind]
    offers = offered(material.part, shop, is_cut=True)
    is_priced = all(row.price is not None for row in offers)
    stock = []
    for row in offers:
        assert row.length is not None
        length = _units(row.length, material.unit)
        cost = row.price if is_priced and row.price is not None else length
        stock.append(Stock(format_quantity(row.length, "length", 4), length, cost))
    own = [row for row in shelf if row.part == material.part]
    kept = _by_length([row for row in own if row.bent is None], material.unit)
    for length, rows in kept.items():
        name = f"{format_quantity(rows[0].length or 0.0, 'length', 4)} from the shelf"
        stock.append(Stock(name, length, 0, sum(row.count for row in rows), is_offcut=True))
    stock = [each for each in stock if each.length > 0]
    kerf = round(rule.kerf / material.unit)
    least_useful = math.ceil(rule.least_useful / material.unit - 1e-6)
    is_judged = is_priced and any(row.status is Status.JUDGEMENT for row in offers)
    tubes = [row for row in own if row.bent is not None]
    plan = plan_with_bent(stock, material.pieces, tubes, kerf, least_useful)
    return MaterialCuts(material, replace(plan, bars=_with_lots(plan.bars, kept)), is_priced, is_judged)


def _by_length(rows: Sequence[ShelfRow], unit: float) -> dict[int, list[ShelfRow]]:
    """Return what lies on the shelf by its length in whole units: to the plan all of one length are alike."""
    found: dict[int, list[ShelfRow]] = defaultdict(list)
    for row in rows:
        if row.length is not None:
            found[_units(row.length, unit)].append(row)
    return dict(found)


def _with_lots(bars: Sequence[Bar], kept: Mapping[int, Sequence[ShelfRow]]) -> tuple[Bar, ...]:
    """Return bars with the lot that each one from the stock book is taken from."""
    left = {length: [row.lot for row in rows for _ in range(row.count)] for length, rows in kept.items()}
    taken = []
    for bar in bars:
        is_straight = bar.stock.is_offcut and bar.stock.tube is None
        lot = left[bar.stock.length].pop(0) if is_straight else None
        stock = bar.stock if lot is None else replace(bar.stock, name=f"{bar.stock.name}, lot {lot}", lot=lot)
        taken.append(replace(bar, stock=stock))
    return tuple(taken)


def harnesses_of(layout: Layout, cuts: Sequence[MaterialCuts]) -> tuple[Harness, ...]:
    """Return the wires and joints of each circuit of a piece that is cut by these plans."""
    joined = reel_joints(cuts, layout)
    return tuple(
        harness_of(circuit, layout.piece.allowances, joined[circuit.circuit.name]) for circuit in layout.circuits
    )


def reel_joints(cuts: Sequence[MaterialCuts], layout: Layout) -> dict[str, tuple[tuple[str, int], ...]]:
    """Return, by circuit, the run and the pixel of each joint that is there because no reel is as long as the run."""
    offsets = {
        (each.material.part, cut.piece.whole, cut.piece.offset)
        for each in cuts
        if each.material.kind == "strip"
        for bar in each.plan.bars
        for cut in bar.cuts
        if cut.piece.offset
    }
    found: dict[str, tuple[tuple[str, int], ...]] = {}
    for circuit in layout.circuits:
        name = circuit.circuit.name
        found[name] = tuple(
            (run.run.name, first + offset)
            for run in circuit.runs
            for piece, first in _strip_pieces(circuit, run, f"{name} {run.run.name}")
            for part, whole, offset in sorted(offsets)
            if (part, whole) == (run.run.strip.name, piece.name)
        )
    return found


def _strip_pieces(circuit: CircuitLayout, run: RunLayout, name: str) -> list[tuple[Piece, int]]:
    """Return a run's strip, cut where the harness says, each with its first pixel."""
    pairs = list(pairwise([0, *strip_cuts(circuit, run), run.n_pixel]))
    return [
        (Piece(name if len(pairs) == 1 else f"{name}, pixels {first} to {last - 1}", last - first), first)
        for first, last in pairs
    ]


def _millimetres(length: float) -> int:
    """Return a length rounded up."""
    return math.ceil(1000 * length - 1e-6)


def _units(length: float, unit: float) -> int:
    """Return how many whole units a length of stock holds."""
    return math.floor(length / unit + 1e-6)


@dataclass(frozen=True)
class _Rule:
    """How a kind of material is cut, as in ``data/cutting.toml``."""

    kerf: float  # [m]
    least_useful: float  # [m]


@cache
def _rules() -> dict[str, _Rule]:
    text = resources.files("lampwright.making").joinpath("data", "cutting.toml").read_text(encoding="utf-8")
    return {
        kind: _Rule(
            *(parse(row[key], "length") for key in ("kerf", "least_useful")),
        )
        for kind, row in tomllib.loads(text)["kind"].items()
    }
