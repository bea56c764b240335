"""Bent tube of the shelf in the cut plan: used again bent where the shape fits, else its ends as straight tube."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from lampwright.making.cutting import Bar, Cut, CutPlan, Piece, ShelfTube, Stock, plan_cuts
from lampwright.making.lists import ShelfRow
from lampwright.stock import BentTube
from lampwright.units import MakerError, format_quantity

MILLIMETRE = 0.001


def plan_with_bent(
    stock: Sequence[Stock], pieces: Sequence[Piece], rows: Sequence[ShelfRow], kerf: int, least_useful: int
) -> CutPlan:
    """Return the cheapest plan for pieces, some of them bent, from straight stock and bent tube of the shelf. [mm]

    As many bent pieces as possible come out of bent tube of their shape, with the least cut off. Ends of what is left
    of it are sawn off as straight tube only where that saves money: a hoop is worth more whole.

    Parameters
    ----------
    rows
        Of the shelf: bent tube alone.

    Raises
    ------
    MakerError
        MAKING-002 where all of it together doesn't suffice.
    """
    tubes = [_stock_of(row, number) for number, row in enumerate(row for row in rows for _ in range(row.count))]
    reused, left_pieces, left_tubes = _used_bent(pieces, tubes, kerf)
    plan = _straight_plan(stock, left_pieces, _ends(left_tubes, kerf, least_useful), kerf, least_useful)
    return replace(plan, bars=(*reused, *plan.bars))


def _stock_of(row: ShelfRow, number: int) -> Stock:
    assert row.bent is not None
    lot = "" if row.lot is None else f", lot {row.lot}"
    name = f"bent from the shelf: {row.bent.text}{lot}"
    length = _millimetres(row.bent.length)
    return Stock(name, length, 0, 1, is_offcut=True, lot=row.lot, tube=ShelfTube(row.bent, number))


def _used_bent(
    pieces: Sequence[Piece], tubes: Sequence[Stock], kerf: int
) -> tuple[list[Bar], list[Piece], list[Stock]]:
    """Return the bars of the bent pieces that come out of bent tube, then the pieces and the tubes that are left.

    Source: the linear assignment problem, by the library.
    """
    bent = [index for index, piece in enumerate(pieces) if piece.bent is not None]
    cuts = [[_cut_off(pieces[index].bent, tube) for tube in tubes] for index in bent]
    waste = np.array([[np.inf if cut is None else sum(cut) for cut in row] for row in cuts])
    if not waste.size:
        return [], list(pieces), list(tubes)
    # Imported here: it takes half a second to load, which only this step should pay.
    from scipy.optimize import linear_sum_assignment

    # one more piece used again outweighs whatever is cut off
    never = 1.0 + 2 * len(bent) * float(np.max(waste, where=np.isfinite(waste), initial=1.0))
    rows, columns = linear_sum_assignment(np.where(np.isfinite(waste), waste, never))
    bars, taken = [], dict[int, int]()
    for row, column in zip(rows.tolist(), columns.tolist(), strict=True):
        cut = cuts[row][column]
        if cut is not None:
            bars.append(_bar(pieces[bent[row]], tubes[column], cut, kerf))
            taken[bent[row]] = column
    left = [tube for column, tube in enumerate(tubes) if column not in taken.values()]
    return bars, [piece for index, piece in enumerate(pieces) if index not in taken], left


def _cut_off(wanted: BentTube | None, tube: Stock) -> tuple[float, float] | None:
    assert wanted is not None
    assert tube.tube is not None
    return tube.tube.form.cut_down_to(wanted)


def _bar(piece: Piece, tube: Stock, cut: tuple[float, float], kerf: int) -> Bar:
    """Return bent tube with what is cut off its two legs; the longer the piece, the shorter that."""
    start = math.floor(cut[0] / MILLIMETRE + 0.5)
    end = min(tube.length, start + piece.length) if cut[1] > MILLIMETRE else tube.length
    return Bar(tube, (Cut(piece, start, end),), max(0, tube.length - end - kerf), max(0, start - kerf))


def _ends(tubes: Sequence[Stock], kerf: int, least_useful: int) -> list[Stock]:
    """Return the straight ends of bent tubes that are worth sawing off, each as a length of its own."""
    found = []
    for tube in tubes:
        assert tube.tube is not None
        for leg in (0, -1):
            length = math.floor(tube.tube.form.legs[leg] / MILLIMETRE + 1e-6) - kerf
            if length >= max(1, least_useful):
                lot = "" if tube.lot is None else f", lot {tube.lot}"
                name = f"{format_quantity(length * MILLIMETRE, 'length', 4)} off the end of bent tube{lot}"
                end = replace(tube.tube, leg=leg)
                found.append(Stock(name, length, 0, 1, is_offcut=True, lot=tube.lot, tube=end))
    return found


def _straight_plan(
    stock: Sequence[Stock], pieces: Sequence[Piece], ends: Sequence[Stock], kerf: int, least_useful: int
) -> CutPlan:
    """Return the cheapest plan, that without sawing bent tube up where it costs as much."""
    if not pieces:
        return CutPlan((), 0, 0, 0, least_useful)
    if not ends:
        return plan_cuts(stock, pieces, kerf, least_useful)
    with_ends = plan_cuts([*stock, *ends], pieces, kerf, least_useful)
    if all(bar.stock.tube is None for bar in with_ends.bars):
        return with_ends
    try:
        whole = plan_cuts(stock, pieces, kerf, least_useful)
    except MakerError:
        return with_ends  # there is nothing else to cut from
    return whole if whole.cost <= with_ends.cost else with_ends


def _millimetres(length: float) -> int:
    return math.ceil(length / MILLIMETRE - 1e-6)
