"""Which lots of the stock book a piece uses: those that its cut plan and its shopping list draw on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from lampwright.layout.model import Layout
from lampwright.making.lists import ShelfRow
from lampwright.making.materials import cut_all
from lampwright.making.shopping import shopping_list
from lampwright.parts import Offer


def lots_used(layout: Layout, shelf: Sequence[ShelfRow], shop: Sequence[Offer] = ()) -> dict[int, int]:
    """Return how many of each lot, by number, a piece uses.

    Raises
    ------
    MakerError
        MAKING-002 where what is sold and on the shelf doesn't suffice.
    """
    used: Counter[int] = Counter()
    cuts = cut_all(layout, shelf, shop)
    for plan in cuts:
        used.update(bar.stock.lot for bar in plan.plan.bars if bar.stock.lot is not None)
    for line in shopping_list(layout, cuts, shelf, shop).lines:
        left = line.on_shelf
        for row in shelf:
            if row.part == line.part and row.length is None and row.lot is not None and left > 0:
                taken = min(left, row.count)
                used[row.lot] += taken
                left -= taken
    return {lot: count for lot, count in used.items() if count}
