"""What was measured on the shelf counts, and not what the label says."""

from __future__ import annotations

from pathlib import Path

import pytest

from lampwright.parts.model import Status
from lampwright.piece.model import Piece
from lampwright.signoff import with_measured
from lampwright.stock import NewLot, Reservation, add_lot, open_stock, reservations, reserve
from tests.faults.pieces import row


@pytest.fixture
def piece() -> Piece:
    return row(2).piece


def kept(folder: Path, *lots: NewLot) -> tuple[Reservation, ...]:
    with open_stock(folder / "stock.db", create=True) as book:
        wanted = {add_lot(book, lot): lot.count for lot in lots}
        reserve(book, "Row", wanted)
        return reservations(book, "Row")


def test_the_weakest_of_the_reserved_packs_counts(piece: Piece, tmp_path: Path) -> None:
    lots = [NewLot("pack-10ah-2a", capacity=ah * 3600, cycles=80.0) for ah in (9.1, 7.4)]
    for circuit in with_measured(piece, kept(tmp_path, *lots)).circuits:
        assert circuit.pack.charge.value == pytest.approx(7.4 * 3600)
        assert circuit.pack.charge.status is Status.MEASURED
        assert circuit.pack.charge.source == "the least of the reserved packs, lot 2"
        assert circuit.bank.cycles == 0.0  # age isn't taken off twice


def test_cycles_count_where_the_charge_wasnt_measured(piece: Piece, tmp_path: Path) -> None:
    lots = [NewLot("pack-10ah-2a", cycles=80.0), NewLot("pack-10ah-2a", cycles=120.0, capacity=9 * 3600)]
    circuit = with_measured(piece, kept(tmp_path, *lots)).circuits[0]
    assert circuit.pack.charge == piece.circuits[0].pack.charge
    assert circuit.bank.cycles == 120.0


def test_too_few_reserved_parts_say_nothing_of_the_others(piece: Piece, tmp_path: Path) -> None:
    few = kept(tmp_path, NewLot("pack-10ah-2a", capacity=9 * 3600), NewLot("m328p-16mhz-crystal", clock_error=1e-5))
    assert with_measured(piece, few) == piece
    assert with_measured(piece, ()) == piece


def test_the_clock_that_is_farthest_off_counts(piece: Piece, tmp_path: Path) -> None:
    lots = [NewLot("m328p-16mhz-crystal", clock_error=error) for error in (1.2e-5, -4.5e-5)]
    tolerance = with_measured(piece, kept(tmp_path, *lots)).circuits[1].board.clock_tolerance
    assert tolerance.value == pytest.approx(4.5e-5)
    assert (tolerance.text, tolerance.status) == ("45 ppm", Status.MEASURED)
