"""A plan as a maker would make it by hand, for when the search has found none in its time."""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.making.arc_flow import Cuts, Lengths


def cuts_by_hand(lengths: Lengths) -> Cuts | None:
    """Return a plan by first fit, longest piece first, each bar then as cheap as holds it; ``None``: nothing fits.

    Its bound is 0: nothing is proven of it.

    Source
    ------
    First-fit decreasing, any text on bin packing.
    """
    left = {s: most for s, most in enumerate(lengths.most) if most is not None}
    bars: list[tuple[int, list[int]]] = []
    pieces = [size for size, count in enumerate(lengths.count) for _ in range(count)]
    for size in sorted(pieces, key=lambda each: -lengths.size[each]):
        bar = next((sizes for stock, sizes in bars if _used(lengths, [*sizes, size]) <= lengths.stock[stock]), None)
        if bar is not None:
            bar.append(size)
            continue
        stock = _opened(lengths, left, lengths.size[size])
        if stock is None:
            return None
        bars.append((stock, [size]))
    shrunk = [(_cheapest(lengths, stock, _used(lengths, sizes)), tuple(sizes)) for stock, sizes in bars]
    return Cuts(tuple(shrunk), sum(lengths.cost[stock] for stock, _ in shrunk), 0)


def _used(lengths: Lengths, sizes: Sequence[int]) -> int:
    return sum(lengths.size[size] for size in sizes)


def _opened(lengths: Lengths, left: dict[int, int], size: int) -> int | None:
    """Return the stock for a new bar and take it: what lies there first, else what is cheapest by its length."""
    fits = [s for s, length in enumerate(lengths.stock) if length >= size and left.get(s, 1) > 0]
    stock = min(fits, key=lambda s: (s not in left, lengths.cost[s] / lengths.stock[s]), default=None)
    if stock in left:
        left[stock] -= 1
    return stock


def _cheapest(lengths: Lengths, stock: int, used: int) -> int:
    """Return what is bought in place of a stock for what is cut from it; limited stock stays as it is."""
    if lengths.most[stock] is not None:
        return stock
    fits = [s for s, length in enumerate(lengths.stock) if length >= used and lengths.most[s] is None]
    return min(fits, key=lambda s: lengths.cost[s])
