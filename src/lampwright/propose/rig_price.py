"""What holds a piece up as it is bought and cut: the same sums as the shopping list's, part by part and each once."""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.layout import Layout
from lampwright.making import Line, MaterialCuts, ShoppingList
from lampwright.making.cutting import Piece as CutPiece
from lampwright.making.lists import ShelfRow
from lampwright.making.materials import Material, cut_material, materials_of
from lampwright.making.shopping import line_for
from lampwright.making.week import tasks_of
from lampwright.parts import CableTie, Offer, load_catalogue, mass_of

HELD_KINDS = ("tube", "cord")


class RigPrices:
    """Prices and cutting of tube, cord and what joins them, for the members of one brief.

    Cords and tube are cut apart from everything else, so that what a rig costs adds up with what hangs on it.
    """

    def __init__(self, layout: Layout, shelf: Sequence[ShelfRow], shop: Sequence[Offer]) -> None:
        self._shelf, self._shop = shelf, shop
        self._pieces = {
            piece.name: piece for each in materials_of(layout) if each.kind == "tube" for piece in each.pieces
        }
        self._tubes: dict[tuple[str, frozenset[str]], tuple[int, int]] = {}
        self.cutting_time = _time_of_a_tube(layout, list(self._pieces.values()))

    def tube(self, part: str, members: frozenset[str]) -> tuple[int, int]:
        """Return the price of these members' tube of one part with its sleeves and caps, and how many pieces it is."""
        key = (part, members)
        if key not in self._tubes:
            pieces = tuple(piece for name, piece in self._pieces.items() if name in members)
            plan = cut_material(Material(part, "tube", 0.001, pieces), self._shelf, self._shop)
            price = _price(plan) + self._line(f"end cap for {part}", 2 * len(pieces))
            if plan.plan.n_joint:
                price += self._line(f"sleeve for {part}", plan.plan.n_joint)
            self._tubes[key] = (price, sum(len(bar.cuts) for bar in plan.plan.bars))
        return self._tubes[key]

    def cord(self, layout: Layout) -> tuple[int, float]:
        """Return the price of a layout's carriers, and their mass as cut [kg]."""
        cords = [each for each in materials_of(layout) if each.kind == "cord"]
        price = sum(_price(cut_material(each, self._shelf, self._shop)) for each in cords)
        metres = ((each.part, each.unit * piece.length) for each in cords for piece in each.pieces)
        return price, sum((mass_of(part) or 0.0) * length for part, length in metres)

    def ties(self, tie: CableTie, count: int) -> int:
        """Return the price of so many cable ties."""
        return self._line(tie.name, count)

    def _line(self, part: str, count: int) -> int:
        return line_for(part, "small", count, self._shelf, self._shop).total or 0


def is_of_rig(line: Line) -> bool:
    """Return whether a line of the shopping list is bought for what holds a piece up."""
    is_tie = line.part in load_catalogue().cable_ties
    return line.kind in HELD_KINDS or is_tie or line.part.startswith(("end cap for ", "sleeve for "))


def _price(cuts: MaterialCuts) -> int:
    """Return what a plan's lengths cost; nothing where they have no price."""
    return sum(bar.stock.cost for bar in cuts.plan.bars if not bar.stock.is_offcut) if cuts.is_priced else 0


def _time_of_a_tube(layout: Layout, pieces: Sequence[CutPiece]) -> float:
    """Return the work of cutting one piece of tube and all that follows from it. [s]"""
    if not pieces:
        return 0.0
    cuts = cut_material(Material("tube", "tube", 0.001, tuple(pieces)), (), ())

    def hands(with_tube: tuple[MaterialCuts, ...]) -> float:
        tasks = tasks_of(layout, with_tube, ShoppingList(()), {}, {})
        return sum(task.likely for task in tasks if not task.is_wait)

    return (hands((cuts,)) - hands(())) / sum(len(bar.cuts) for bar in cuts.plan.bars)
