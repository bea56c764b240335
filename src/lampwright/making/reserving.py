"""What a piece uses of the stock book: the lots that its cut plan and its shopping list draw on, and what stays."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from lampwright.layout.model import Layout
from lampwright.making.cutting import Bar
from lampwright.making.lists import ShelfRow
from lampwright.making.materials import MaterialCuts, cut_all
from lampwright.making.shopping import shopping_list
from lampwright.parts import Offer
from lampwright.stock import BentTube, Rest


@dataclass(frozen=True)
class ShelfUse:
    """What a piece uses of the stock book."""

    lots: Mapping[int, int]
    """How many of each lot, by number."""
    rests: tuple[Rest, ...]
    """What is left of those that are cut, and long enough to keep."""


def use_of_shelf(layout: Layout, shelf: Sequence[ShelfRow], shop: Sequence[Offer] = ()) -> ShelfUse:
    """Return what a piece uses of a stock book's rows.

    Raises
    ------
    MakerError
        MAKING-002 where what is sold and on the shelf doesn't suffice.
    """
    used: Counter[int] = Counter()
    rests: Counter[Rest] = Counter()
    cuts = cut_all(layout, shelf, shop)
    for plan in cuts:
        used.update(_lots_of(plan.plan.bars))
        rests.update(_rests_of(plan))
    for line in shopping_list(layout, cuts, shelf, shop).lines:
        left = line.on_shelf
        for row in shelf:
            if row.part == line.part and row.length is None and row.lot is not None and left > 0:
                taken = min(left, row.count)
                used[row.lot] += taken
                left -= taken
    return ShelfUse({lot: count for lot, count in used.items() if count}, tuple(rests.elements()))


def _lots_of(bars: Sequence[Bar]) -> Iterator[int]:
    """Yield the lot of each bar; both ends of one bent tube are one thing."""
    sawn = set()
    for bar in bars:
        tube = bar.stock.tube
        if bar.stock.lot is not None and (tube is None or tube.number not in sawn):
            yield bar.stock.lot
        if tube is not None:
            sawn.add(tube.number)


def _rests_of(cuts: MaterialCuts) -> Iterator[Rest]:
    """Yield what is left of each bar from the book, and of each bent tube whose ends are sawn off."""
    left: dict[int, tuple[int, BentTube]] = {}
    for bar in cuts.plan.bars:
        lot, tube = bar.stock.lot, bar.stock.tube
        if lot is None:
            continue
        for rest in bar.rests:
            if rest >= max(1, cuts.plan.least_useful):
                yield Rest(lot, rest * cuts.material.unit)
        if tube is not None and tube.leg is not None:
            _, form = left.get(tube.number, (lot, tube.form))
            left[tube.number] = (lot, form.without_end(is_last=tube.leg == -1))
    for lot, form in left.values():
        yield Rest(lot, form.length, form.text)
