"""A show that goes on after a loss of power goes on at its last full minute, whatever the EEPROM went through.

The entries are told once more here, in plain numbers: sequence, minute, check word; 128 places.
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from lampwright.chip import EmulatedChip, ResetCause
from lampwright.firmware import FirmwareBuild, build, write_firmware
from lampwright.layout import lay_out
from lampwright.piece import read_piece
from lampwright.rehearsal.stage import listening_lines
from lampwright.show import CircuitShow, compile_show, line_bytes, render
from tests.small_piece import small_piece

GO_ON = 'after_power_loss = "go on"\n'
N_PLACE = 128
MINUTE = 600
"""Frames of 100 ms."""


class Board:
    """The small piece's board, ten frames a second, a minute of countdown."""

    def __init__(self, folder: Path, **changes: str) -> None:
        (folder / "small.toml").write_text(small_piece(**{"rate": "10 /s", "power_loss": GO_ON, **changes}))
        self.show: CircuitShow = compile_show(lay_out(read_piece(folder / "small.toml")))[0]
        self.folder = folder / "firmware"
        self.built: FirmwareBuild = build(write_firmware(self.show, self.folder))

    def chip(self, eeprom: bytes = b"") -> EmulatedChip:
        """Return the board switched on."""
        return EmulatedChip(self.built.image, 16e6, listening_lines(self.show), eeprom=eeprom)

    def place(self, chip: EmulatedChip) -> int:
        """Let the show go on for two seconds; return the frame with which it did."""
        chip.take_frames()
        begun = chip.cycle
        run(chip, 2.0)
        frames = chip.take_frames()
        sent = frames.data[(frames.start_cycle > begun) & (frames.n_bit == 24 * self.show.n_pixel)]
        assert len(sent) >= 18
        (number,) = (
            number
            for number in (0, *range(MINUTE - 3, 20 * MINUTE, 1))
            if np.array_equal(self._meant[number : number + len(sent)], sent)
        )
        return number

    @property
    def _meant(self) -> np.ndarray:
        if not hasattr(self, "_lines"):
            self._lines = line_bytes(self.show, render(self.show, 0, 20 * MINUTE + 30).codes)
        return self._lines


def run(chip: EmulatedChip, seconds: float) -> None:
    """Go on for so long."""
    chip.run(chip.cycle + round(seconds * 16e6))


def lose_power(chip: EmulatedChip) -> None:
    """Lose the supply, RAM with it."""
    chip.reset(ResetCause.POWER_ON)


MakeBoard = Callable[..., Board]


@pytest.fixture(scope="module")
def make_board(tmp_path_factory: pytest.TempPathFactory) -> MakeBoard:
    """Return boards; one cue that never looks the same twice, so that a place can be told."""
    kept: dict[tuple[tuple[str, str], ...], Board] = {}

    def make(**changes: str) -> Board:
        key = tuple(sorted(changes.items()))
        if key not in kept:
            cue = '[[cue]]\nlook = "drifting-glints"\nlength = "30 min"'
            kept[key] = Board(tmp_path_factory.mktemp("board"), **{"cues": cue, **changes})
        return kept[key]

    return make


def mark_of(board: Board) -> int:
    """Return the show's mark, read from its source."""
    text = (board.folder / "minutes.cpp").read_text()
    return int(text.split("show_mark = ")[1].split(";")[0], 16)


def entry(mark: int, sequence: int, minute: int) -> bytes:
    """Return an entry as bytes."""
    mixed = ((sequence << 16 | minute) ^ mark) * 0x9E3779B1 & 0xFFFFFFFF
    mixed ^= mixed >> 16
    mixed = mixed * 0x7FEB352D & 0xFFFFFFFF
    return struct.pack("<HHI", sequence, minute, mixed ^ mixed >> 16)


def eeprom_of(entries: dict[int, bytes]) -> bytes:
    """Return an EEPROM with entries at their places, erased elsewhere."""
    return b"".join(entries.get(place, b"\xff" * 8) for place in range(N_PLACE))


def test_the_show_goes_on_at_its_last_full_minute(make_board: MakeBoard) -> None:
    board = make_board()
    chip = board.chip()
    run(chip, 150.0)
    lose_power(chip)
    assert board.place(chip) == 2 * MINUTE


def test_power_lost_so_shortly_that_ram_holds_goes_on_where_it_was(make_board: MakeBoard) -> None:
    board = make_board()
    chip = board.chip()
    run(chip, 150.05)
    ram = chip.read_ram(0x100, 0x800)
    lose_power(chip)
    chip.write_ram(0x100, ram)
    assert 1500 <= board.place(chip) <= 1502


def test_a_loss_in_the_countdown_goes_on_with_the_countdown(make_board: MakeBoard) -> None:
    board = make_board(standby="3 min")
    chip = board.chip()
    run(chip, 90.0)
    lose_power(chip)
    chip.take_frames()
    begun = chip.cycle
    run(chip, 0.45)
    frames = chip.take_frames()
    first = frames.data[frames.start_cycle > begun][0]
    assert (first.reshape(-1, 3).max(axis=1) > 0).sum() == 2  # minutes left of three after one full minute


@pytest.mark.parametrize("what", ["ones", "zeros", "noise"])
def test_an_eeprom_without_an_entry_counts_down(make_board: MakeBoard, what: str) -> None:
    noise = np.random.default_rng(5).integers(0, 256, 1024, dtype=np.uint8).tobytes()
    held = {"ones": b"\xff" * 1024, "zeros": bytes(1024), "noise": noise}[what]
    board = make_board()
    assert board.place(board.chip(held)) == 0


def test_a_reset_within_an_entry_leaves_this_minute_or_the_one_before(make_board: MakeBoard) -> None:
    board = make_board()
    chip = board.chip()
    run(chip, 120.05)  # an entry takes a byte a frame: eight frames of 100 ms
    dice = np.random.default_rng(3)
    found = set()
    last = 0
    for at in sorted(dice.uniform(0, 1.1, 40)):
        run(chip, float(at) - last)
        last = float(at)
        what_if = chip.fork()
        lose_power(what_if)
        found.add(board.place(what_if))
    assert found == {MINUTE, 2 * MINUTE}


@pytest.mark.parametrize("cause", [ResetCause.BROWN_OUT, ResetCause.WATCHDOG])
def test_a_dip_within_an_entry_loses_neither_place_nor_the_entry_before(
    make_board: MakeBoard, cause: ResetCause
) -> None:
    board = make_board()
    chip = board.chip()
    run(chip, 120.45)
    chip.reset(cause)
    run(chip, 10.0)
    lose_power(chip)
    assert board.place(chip) in (MINUTE, 2 * MINUTE)
    run(chip, 61.0)
    lose_power(chip)
    assert board.place(chip) in (2 * MINUTE, 3 * MINUTE)


def test_the_reset_button_begins_a_new_evening(make_board: MakeBoard) -> None:
    board = make_board()
    chip = board.chip()
    run(chip, 150.0)
    chip.reset(ResetCause.EXTERNAL)
    assert board.place(chip) == 0
    lose_power(chip)
    assert board.place(chip) == 0


def test_after_the_evening_is_over_switching_on_counts_down(make_board: MakeBoard) -> None:
    board = make_board()
    # the countdown of 1 min and a run time of 1 h: over after 61 minutes
    at_the_end = eeprom_of({0: entry(mark_of(board), 0, 60)})
    chip = board.chip(at_the_end)
    run(chip, 30.0)
    before = chip.fork()
    lose_power(before)
    assert before.eeprom == at_the_end
    run(chip, 32.0)
    lose_power(chip)
    assert board.place(chip) == 0


def test_another_shows_entries_are_not_taken(make_board: MakeBoard) -> None:
    board, other = make_board(), make_board(brightness="41 %")
    chip = board.chip()
    run(chip, 150.0)
    assert other.place(other.chip(chip.eeprom)) == 0
    assert board.place(board.chip(chip.eeprom)) == 2 * MINUTE


def test_the_newest_entry_is_found_where_the_sequence_starts_over(make_board: MakeBoard) -> None:
    board = make_board()
    mark = mark_of(board)
    sequences = [(65_400 + n) % 65_536 for n in range(N_PLACE + 12)]
    entries = {s % N_PLACE: entry(mark, s, 1 + n % 15) for n, s in enumerate(sequences)}
    newest = 1 + (len(sequences) - 1) % 15
    assert sequences[-1] < sequences[0]
    assert board.place(board.chip(eeprom_of(entries))) == newest * MINUTE


def test_an_entry_at_another_entrys_place_is_none(make_board: MakeBoard) -> None:
    board = make_board()
    assert board.place(board.chip(eeprom_of({4: entry(mark_of(board), 3, 7)}))) == 0


def test_entries_go_round_the_whole_eeprom(make_board: MakeBoard) -> None:
    board = make_board()
    start = eeprom_of({126: entry(mark_of(board), 126, 1)})
    chip = board.chip(start)
    run(chip, 121.0)  # minutes 2 and 3 are full
    held = chip.eeprom
    assert held[8 * 126 :] == entry(mark_of(board), 126, 1) + entry(mark_of(board), 127, 2)
    assert held[:8] == entry(mark_of(board), 128, 3)
    assert held[8 : 8 * 126] == start[8 : 8 * 126]


def test_a_piece_that_counts_down_again_never_writes_the_eeprom(make_board: MakeBoard) -> None:
    board = make_board(power_loss="")
    chip = board.chip()
    run(chip, 130.0)
    assert chip.eeprom == b"\xff" * 1024
    lose_power(chip)
    assert board.place(chip) == 0
    assert not (board.folder / "minutes.cpp").exists()


def test_no_cell_is_written_more_often_than_its_entry(make_board: MakeBoard) -> None:
    chip = make_board().chip()
    run(chip, 301.0)
    writes = chip.eeprom_writes
    assert set(writes) <= {0, 1}
    assert 5 * 5 < sum(writes) <= 5 * 8  # five entries, of which bytes that were 0xff already are spared
    assert max(writes[5 * 8 :]) == 0
