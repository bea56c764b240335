"""Cut plans: which pieces come out of which length of tube, strip, wire or cord, at the least cost."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lampwright.making.arc_flow import Lengths, count_arcs, solve_cuts
from lampwright.making.by_hand import cuts_by_hand
from lampwright.stock import BentTube
from lampwright.units import MakerError, Problem

MOST_ARCS = 60_000
"""A larger graph takes the solver too long; its lengths are then rounded up to a coarser grid, without a proof."""


@dataclass(frozen=True)
class ShelfTube:
    """One bent tube of the shelf."""

    form: BentTube
    number: int
    """Among all bent tubes of this part that lie there, to tell those of one lot apart."""
    leg: int | None = None
    """Which of its ends is sawn off as straight tube: 0 the first, -1 the last; ``None``: it is used bent."""


@dataclass(frozen=True)
class Stock:
    """A length that can be had: bought, or lying on the shelf."""

    name: str
    length: int  # in the material's unit: millimetres, or pixels of strip
    cost: int
    """Of one, in whole hundredths of the maker's currency; where nothing is priced, its length."""
    count: int | None = None
    """How many there are; ``None``: as many as wanted."""
    is_offcut: bool = False
    lot: int | None = None
    """Its number in the stock book, if it lies there."""
    tube: ShelfTube | None = None
    """The bent tube that it is, or that it is sawn from."""


@dataclass(frozen=True)
class Piece:
    """A length that is needed, in the material's unit."""

    name: str
    length: int
    whole: str = ""
    """What it is a part of, where that was too long for any stock."""
    offset: int = 0
    """Where it begins within that."""
    bent: BentTube | None = None
    """The shape that it is bent to, of tube; ``None``: straight."""


@dataclass(frozen=True)
class Cut:
    """A piece where it lies in its bar, measured from the end at which cutting begins."""

    piece: Piece
    start: int
    end: int


@dataclass(frozen=True)
class Bar:
    """One length of stock and what is cut from it."""

    stock: Stock
    cuts: tuple[Cut, ...]
    rest: int
    head: int = 0
    """What is cut off before the first piece, as of bent tube whose first leg is too long."""

    @property
    def marks(self) -> tuple[int, ...]:
        """Where to mark, from the end at which cutting begins; the saw goes on the far side of the mark."""
        first = (self.cuts[0].start,) if self.cuts and self.cuts[0].start else ()
        return (*first, *(cut.end for cut in self.cuts if cut.end < self.stock.length))

    @property
    def rests(self) -> tuple[int, ...]:
        """All that is left of it, long and short."""
        return tuple(rest for rest in (self.head, self.rest) if rest)


@dataclass(frozen=True)
class CutPlan:
    """All bars of one material."""

    bars: tuple[Bar, ...]
    cost: int
    bound: int
    """No plan for these pieces costs less."""
    n_joint: int
    """Places where a piece longer than any stock is joined."""
    least_useful: int

    @property
    def is_proven(self) -> bool:
        """Whether no plan costs less."""
        return self.cost == self.bound

    @property
    def kept(self) -> tuple[int, ...]:
        """Rests long enough to go back on the shelf."""
        return tuple(rest for bar in self.bars for rest in bar.rests if rest >= self.least_useful)

    @property
    def scrap(self) -> int:
        """Rests too short to keep; the saw's own kerf isn't counted."""
        return sum(rest for bar in self.bars for rest in bar.rests if rest < self.least_useful)


def plan_cuts(
    stock: Sequence[Stock], pieces: Sequence[Piece], kerf: int = 0, least_useful: int = 0, time_limit: float = 10.0
) -> CutPlan:
    """Return the cheapest way to cut the pieces.

    A piece longer than every stock that can be bought comes whole from the shelf where something lies there that is
    long enough. Any other is first divided into as few lengths as it takes: whole lengths of the longest stock that can
    be bought, and the rest. The proof is one for the lengths so divided.

    Parameters
    ----------
    kerf
        What the saw takes at each cut: n pieces fit where their sum and (n - 1) kerfs do.
    least_useful
        A rest at least this long is kept.
    time_limit
        For the search; a plan found by then is returned, with the bound that was reached. [s]

    Raises
    ------
    MakerError
        MAKING-002 where the stock doesn't suffice, or no plan was found within the time nor by hand.
    """
    longest = max((each.length for each in stock if each.count is None), default=0)
    longest = longest or max((each.length for each in stock), default=0)
    if longest <= 0:
        raise MakerError([_no_stock(len(pieces))])
    whole = _whole_from_shelf(stock, pieces, longest)
    divided = [part for i, piece in enumerate(pieces) for part in ([piece] if i in whole else _divide(piece, longest))]
    try:
        found, bound = _solve(stock, Counter(piece.length for piece in divided), kerf, least_useful, time_limit)
    except MakerError:
        if not whole:
            raise
        # on a coarse grid a piece may miss the very length that it would fill
        divided = [part for piece in pieces for part in _divide(piece, longest)]
        found, bound = _solve(stock, Counter(piece.length for piece in divided), kerf, least_useful, time_limit)
    by_length: dict[int, list[Piece]] = defaultdict(list)
    for piece in divided:
        by_length[piece.length].append(piece)
    for waiting in by_length.values():
        waiting.reverse()
    bars = tuple(_bar(stock[index], [by_length[size].pop() for size in sizes], kerf) for index, sizes in found)
    cost = sum(bar.stock.cost for bar in bars)
    ordered = sorted(bars, key=lambda bar: (-bar.stock.length, bar.stock.name, bar.rest))
    return CutPlan(tuple(ordered), cost, min(cost, bound), len(divided) - len(pieces), least_useful)


def _whole_from_shelf(stock: Sequence[Stock], pieces: Sequence[Piece], longest: int) -> frozenset[int]:
    """Return which pieces are longer than what can be bought and still fit something on the shelf, each its own.

    As many as possible: the shortest piece first, each into the shortest length that takes it.
    """
    kept = sorted(each.length for each in stock if each.count is not None for _ in range(each.count))
    whole = set()
    for length, number in sorted((piece.length, i) for i, piece in enumerate(pieces) if piece.length > longest):
        fitting = next((each for each in kept if each >= length), None)
        if fitting is not None:
            kept.remove(fitting)
            whole.add(number)
    return frozenset(whole)


def _divide(piece: Piece, longest: int) -> Iterable[Piece]:
    n = max(1, math.ceil(piece.length / longest))
    for number in range(n):
        length = min(longest, piece.length - number * longest)
        yield (
            piece if n == 1 else Piece(f"{piece.name}, part {number + 1} of {n}", length, piece.name, number * longest)
        )


def _solve(
    stock: Sequence[Stock], needed: Counter[int], kerf: int, least_useful: int, time_limit: float
) -> tuple[list[tuple[int, list[int]]], int]:
    """Return each bar as its stock and its piece lengths, and the bound on the cost."""
    sizes = sorted(needed, reverse=True)
    if not sizes:
        return [], 0
    lengths, is_exact = _on_grid(stock, sizes, needed, kerf, least_useful)
    found = None
    if sizes[0] <= max(each.length for each in stock):
        found = solve_cuts(lengths, time_limit) or cuts_by_hand(lengths)
    if found is None:
        raise MakerError([_too_little(stock, needed)])
    by_length = _by_length(stock, needed)
    bound = max(found.bound, by_length) if is_exact else min(found.bound or by_length, by_length)
    return [(index, [sizes[size] for size in cut]) for index, cut in found.bars], bound


def _on_grid(
    stock: Sequence[Stock], sizes: Sequence[int], needed: Counter[int], kerf: int, least_useful: int
) -> tuple[Lengths, bool]:
    """Return the problem in the coarsest unit that changes nothing, else in one that the solver can bear.

    Source: n lengths l and n - 1 kerfs k fit into L where n (l + k) <= L + k.
    """
    unit = math.gcd(*(size + kerf for size in sizes))
    longest = max(each.length for each in stock)
    while True:
        # Rounding up must not keep a piece out of the longest stock, where it lies alone if it is that long.
        room = (longest + kerf) // unit
        cells = {size: min(room, -(-(size + kerf) // unit)) if size <= longest else room + 1 for size in sizes}
        is_exact = all(cells[size] * unit == size + kerf for size in sizes)
        rooms = [(each.length + kerf) // unit for each in stock]
        if not is_exact:
            rooms = [
                min(cell, room - 1) if each.length < longest else cell for cell, each in zip(rooms, stock, strict=True)
            ]
        lengths = Lengths(
            stock=tuple(rooms),
            cost=tuple(each.cost for each in stock),
            most=tuple(each.count for each in stock),
            size=tuple(cells[size] for size in sizes),
            count=tuple(needed[size] for size in sizes),
            least_useful=-(-least_useful // unit),
        )
        if count_arcs(lengths, MOST_ARCS) <= MOST_ARCS:
            return lengths, is_exact
        unit *= 2


def _by_length(stock: Sequence[Stock], needed: Counter[int]) -> int:
    """Return a bound on the cost from lengths alone: all pieces at the cheapest price for each length.

    What lies on the shelf is taken whole; so it holds for any way to cut.
    """
    missing = sum(length * count for length, count in needed.items())
    bound = 0.0
    for each in sorted(stock, key=lambda each: each.cost / each.length):
        there = math.inf if each.count is None else each.count * each.length
        taken = min(missing, there)
        bound += taken * each.cost / each.length
        missing -= int(taken)
    return math.ceil(bound - 1e-6)


def _bar(stock: Stock, pieces: Sequence[Piece], kerf: int) -> Bar:
    cuts, at = [], 0
    for piece in pieces:
        cuts.append(Cut(piece, at, at + piece.length))
        at += piece.length + kerf
    return Bar(stock, tuple(cuts), max(0, stock.length - at))


def _no_stock(n_piece: int) -> Problem:
    return Problem(
        "MAKING-002",
        "there is nothing to cut from",
        f"{n_piece} pieces and no stock",
        "at least one length that can be bought or lies on the shelf",
        "add a length to the list of what is sold, or to the shelf",
    )


def _too_little(stock: Sequence[Stock], needed: Counter[int]) -> Problem:
    there = ", ".join(f"{'any number' if each.count is None else each.count} of {each.length}" for each in stock)
    return Problem(
        "MAKING-002",
        "the stock doesn't yield these pieces, or no plan was found in the time",
        ", ".join(f"{count} of {length}" for length, count in sorted(needed.items(), reverse=True)[:8]),
        f"what can be cut from {there}",
        "add a longer or another length to the list of what is sold, or allow more time",
    )
