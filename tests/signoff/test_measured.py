"""What was measured on the shelf counts, and not what the label says."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from lampwright.parts.model import Status
from lampwright.piece.model import Piece
from lampwright.power.basis import draw_basis
from lampwright.signoff import parts_from, with_measured
from lampwright.stock import NewLot, Reservation, add_lot, open_stock, reservations, reserve
from lampwright.units import MakerError
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
        assert circuit.pack.charge.source == "the least of the shelf's packs, lot 2"
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


def strip(length: float, white: float | None, **more: float) -> NewLot:
    """Return strip of which 30 pixels were measured."""
    return NewLot("ws2812b-30", length=length, pixels=30, volts=4.98, white=white, **more)  # type: ignore[arg-type]


def test_strip_draws_what_the_hungriest_of_its_lots_does(piece: Piece, tmp_path: Path) -> None:
    lots = [strip(1.0, 1.11, dark=0.03, far=4.80), strip(1.0, 1.38, dark=0.024, far=4.86)]
    circuit = with_measured(piece, kept(tmp_path, *lots)).circuits[0]
    white = sum(getattr(circuit.strip, f"{colour}_current").value for colour in ("red", "green", "blue"))
    assert white == pytest.approx((1.38 - 0.024) / 30)
    assert circuit.strip.quiescent_current.value == pytest.approx(0.001)
    assert circuit.strip.rail_resistance.value == pytest.approx(0.18 / 1.11)  # over a metre
    assert "quiescent 1 mA (measured), red 15.1 mA (measured)" in draw_basis(circuit)
    assert "lot 2" in circuit.strip.red_current.source


def test_strip_still_to_buy_draws_no_less_than_the_catalogue_says(piece: Piece, tmp_path: Path) -> None:
    frugal = strip(1.0, 0.5, dark=0.009)
    nominal = piece.circuits[0].strip
    mixed = with_measured(piece, kept(tmp_path, frugal)).circuits[0].strip
    assert (mixed.red_current, mixed.quiescent_current) == (nominal.red_current, nominal.quiescent_current)
    other = tmp_path / "other"
    other.mkdir()
    all_of_it = with_measured(piece, kept(other, frugal, frugal)).circuits[0].strip
    assert all_of_it.red_current.value < nominal.red_current.value
    assert all_of_it.quiescent_current.value == pytest.approx(0.0003)


def test_without_a_reservation_the_lots_that_would_be_taken_count(piece: Piece, tmp_path: Path) -> None:
    path = tmp_path / "stock.db"
    with open_stock(path, create=True) as book:
        add_lot(book, NewLot("pack-10ah-2a", 2, capacity=8 * 3600))
        add_lot(book, replace(strip(2.0, 1.5, dark=0.03), count=2))
        spoken_for = add_lot(book, NewLot("m328p-16mhz-crystal", 2, clock_error=1e-5))
        reserve(book, "Another", {spoken_for: 2})
    circuit = with_measured(piece, parts_from(path, piece)).circuits[0]
    assert circuit.pack.charge.value == 8 * 3600
    assert circuit.strip.quiescent_current.status is Status.MEASURED
    assert circuit.board.clock_tolerance == piece.circuits[0].board.clock_tolerance


def test_a_reading_that_makes_no_sense_names_its_lot(piece: Piece, tmp_path: Path) -> None:
    with pytest.raises(MakerError, match="lot 1, ws2812b-30: white draws no more than dark"):
        with_measured(piece, kept(tmp_path, strip(3.0, 0.02, dark=0.03)))
