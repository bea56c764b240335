"""Figures of a piece's own parts, as they were measured on the shelf, in place of the catalogue's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from lampwright.layout import lay_out
from lampwright.making import read_shelf, use_of_shelf
from lampwright.parts.model import Board, Figure, Pack, Status, Strip
from lampwright.piece.model import Bank, Circuit, Piece
from lampwright.power import as_measured, has_reading, worst_of
from lampwright.stock import Lot, Reservation, lot_of, open_stock, reservations
from lampwright.units import MakerError, format_quantity

NEAR = 0.001
"""Lengths are rounded in the book. [m]"""


def parts_from(path: Path, piece: Piece) -> tuple[Reservation, ...]:
    """Return what a piece has of a stock book: what is reserved for it, else what it would take as things are.

    Raises
    ------
    MakerError
        The book's or the layout's; a piece for which there is too little to cut from takes nothing.
    """
    name = piece.brief.name
    with open_stock(path) as book:
        if kept := reservations(book, name):
            return kept
        layout = lay_out(piece)
        try:
            use = use_of_shelf(layout, read_shelf(path, name))
        except MakerError:
            return ()  # the cut plan tells; a check judges the piece all the same
        return tuple(Reservation(name, lot_of(book, lot), count) for lot, count in use.lots.items())


def with_measured(piece: Piece, kept: Sequence[Reservation]) -> Piece:
    """Return a piece whose packs, boards and strip are these of the shelf.

    Which circuit gets which of them nobody has said, so each is taken for the weakest: the least measured charge, the
    most cycles where the charge wasn't measured, the clock that is farthest off. A figure is taken only where every
    part of that name has it, and there are as many as the piece needs. Strip draws what the hungriest lot does, and
    no less than the catalogue says where some of it wasn't measured or is still to buy.

    Raises
    ------
    MakerError
        STOCK-006: the reading of a lot of strip makes no sense.
    """
    lots: dict[str, list[tuple[Lot, int]]] = {}
    for each in kept:
        lots.setdefault(each.lot.what.part, []).append((each.lot, each.count))
    needed_packs: dict[str, int] = {}
    needed_boards: dict[str, int] = {}
    for circuit in piece.circuits:
        if not circuit.is_on_mains:
            needed_packs[circuit.pack.name] = needed_packs.get(circuit.pack.name, 0) + circuit.bank.count
        needed_boards[circuit.board.name] = needed_boards.get(circuit.board.name, 0) + 1
    packs, boards = (
        {part: _all_of(lots, part, count) for part, count in needed.items()} for needed in (needed_packs, needed_boards)
    )
    strips = _strips(piece, lots)
    return replace(
        piece,
        circuits=tuple(
            _measured(each, packs.get(each.source.name, []), boards[each.board.name], strips) for each in piece.circuits
        ),
    )


def _strips(piece: Piece, lots: Mapping[str, Sequence[tuple[Lot, int]]]) -> dict[str, Strip]:
    """Return by name the strip of which a lot was measured, with the figures to reckon with."""
    found = {}
    for strip in {run.strip.name: run.strip for circuit in piece.circuits for run in circuit.runs}.values():
        own = lots.get(strip.name, ())
        if told := [as_measured(strip, lot) for lot, _ in own if has_reading(lot.what)]:
            there = sum(count * (lot.what.length or 0.0) for lot, count in own)
            is_all = len(told) == len(own) and there >= _metres(piece, strip) - NEAR
            found[strip.name] = worst_of(told if is_all else [*told, strip])
    return found


def _metres(piece: Piece, strip: Strip) -> float:
    """Return how much of a strip a piece takes. [m]"""
    runs = [run for circuit in lay_out(piece).circuits for run in circuit.runs if run.run.strip.name == strip.name]
    return sum(run.n_pixel for run in runs) / strip.density.value


def _all_of(lots: dict[str, list[tuple[Lot, int]]], part: str, count: int) -> list[Lot]:
    """Return the lots of a part, if together they are all that the piece needs of it."""
    found = lots.get(part, [])
    return [lot for lot, _ in found] if sum(n for _, n in found) >= count else []


def _measured(circuit: Circuit, packs: Sequence[Lot], boards: Sequence[Lot], strips: Mapping[str, Strip]) -> Circuit:
    runs = tuple(replace(run, strip=strips.get(run.strip.name, run.strip)) for run in circuit.runs)
    circuit = replace(circuit, board=_board(circuit.board, boards), runs=runs)
    if circuit.is_on_mains:
        return circuit
    pack, bank = _pack(circuit.pack, circuit.bank, packs)
    return replace(circuit, source=pack, bank=bank)


def _pack(pack: Pack, bank: Bank, lots: Sequence[Lot]) -> tuple[Pack, Bank]:
    charges = [(lot.what.capacity, lot.number) for lot in lots if lot.what.capacity is not None]
    if lots and len(charges) == len(lots):
        charge, number = min(charges)
        text = format_quantity(charge, "charge")
        figure = Figure(charge, text, Status.MEASURED, f"the least of the shelf's packs, lot {number}")
        return replace(pack, charge=figure), replace(bank, cycles=0.0)  # what age has taken is missing from it already
    cycles = [lot.what.cycles for lot in lots if lot.what.cycles is not None]
    if lots and len(cycles) == len(lots) and bank.cycles is None:
        return pack, replace(bank, cycles=max(cycles))
    return pack, bank


def _board(board: Board, lots: Sequence[Lot]) -> Board:
    errors = [(abs(lot.what.clock_error), lot.number) for lot in lots if lot.what.clock_error is not None]
    if not lots or len(errors) < len(lots):
        return board
    error, number = max(errors)
    figure = Figure(error, f"{error * 1e6:.0f} ppm", Status.MEASURED, f"the worst of the shelf's boards, lot {number}")
    return replace(board, clock_tolerance=figure)
