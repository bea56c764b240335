"""Figures of a piece's own parts, as they were measured on the shelf, in place of the catalogue's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lampwright.parts.model import Board, Figure, Pack, Status
from lampwright.piece.model import Bank, Circuit, Piece
from lampwright.stock import Lot, Reservation
from lampwright.units import format_quantity


def with_measured(piece: Piece, kept: Sequence[Reservation]) -> Piece:
    """Return a piece whose packs and boards are those that are reserved for it.

    Which circuit gets which of them nobody has said, so each is taken for the weakest: the least measured charge, the
    most cycles where the charge wasn't measured, the clock that is farthest off. A figure is taken only where every
    reserved part of that name has it, and there are as many as the piece needs.
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
    return replace(
        piece,
        circuits=tuple(
            _measured(each, packs.get(each.source.name, []), boards[each.board.name]) for each in piece.circuits
        ),
    )


def _all_of(lots: dict[str, list[tuple[Lot, int]]], part: str, count: int) -> list[Lot]:
    """Return the lots of a part, if together they are all that the piece needs of it."""
    found = lots.get(part, [])
    return [lot for lot, _ in found] if sum(n for _, n in found) >= count else []


def _measured(circuit: Circuit, packs: Sequence[Lot], boards: Sequence[Lot]) -> Circuit:
    circuit = replace(circuit, board=_board(circuit.board, boards))
    if circuit.is_on_mains:
        return circuit
    pack, bank = _pack(circuit.pack, circuit.bank, packs)
    return replace(circuit, source=pack, bank=bank)


def _pack(pack: Pack, bank: Bank, lots: Sequence[Lot]) -> tuple[Pack, Bank]:
    charges = [(lot.what.capacity, lot.number) for lot in lots if lot.what.capacity is not None]
    if lots and len(charges) == len(lots):
        charge, number = min(charges)
        text = format_quantity(charge, "charge")
        figure = Figure(charge, text, Status.MEASURED, f"the least of the reserved packs, lot {number}")
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
    figure = Figure(error, f"{error * 1e6:.0f} ppm", Status.MEASURED, f"the worst of the reserved boards, lot {number}")
    return replace(board, clock_tolerance=figure)
