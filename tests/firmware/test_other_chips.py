"""The firmware of every chip and clock of the catalogue sends what the show says, in bits that the pixel allows."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path

import pytest

from lampwright.firmware import Compiler, PathCompiler, WasiCompiler, WheelCompiler, write_firmware
from lampwright.firmware.bits import BitCycles, choose_bit_cycles, tight_last_bit
from lampwright.parts import Strip, find
from lampwright.units.errors import MakerError
from tests.firmware.conftest import build_show
from tests.firmware.test_on_chip import Bench, assert_frames

BOARDS = {
    "m2560-16mhz-crystal": ("PF1", "PA7", "PB0"),
    "m32u4-16mhz-resonator": ("PD6", "PF4", "PC7"),
    "m328p-8mhz-3v3-crystal": ("PD6", "PD5", "PB0"),
    "m328p-8mhz-3v3-resonator": ("PD6", "PD5", "PB0"),
}


def bench_of(board: str, strip: str, folder: Path, compiler: Compiler | None = None) -> Bench:
    return Bench(build_show((20, 7, 1), pins=BOARDS[board], strip=strip, board_name=board), folder, compiler)


@pytest.mark.parametrize("strip", ["ws2812b-60", "sk6812-60"])
@pytest.mark.parametrize("board", BOARDS)
@pytest.mark.parametrize("kind", [WheelCompiler, WasiCompiler, PathCompiler])
def test_each_compilers_binary_sends_the_shows_frames_in_time(
    board: str, kind: Callable[[], Compiler], strip: str, tmp_path: Path
) -> None:
    bench = bench_of(board, strip, tmp_path, kind())
    bench.ticks(181)
    _, sent = bench.sent()
    assert_frames(sent, bench.show, range(180))
    for line in range(3):
        report = bench.chip.report(line)
        assert len(report.longest) == 4
        assert report.n_breach == 0, report


@pytest.mark.parametrize(
    ("strip", "cycles"),
    [
        # 125 ns a cycle; WS2812B datasheet: 250-550, 650-950, 700-1000, 300-600 ns
        ("ws2812b-60", BitCycles(3, 6, 10)),
        # SK6812 datasheet: 150-450, 450-750, 750-1050, 450-750 ns
        ("sk6812-60", BitCycles(3, 5, 10)),
    ],
)
@pytest.mark.parametrize("tolerance", [80e-6, 0.01])
def test_8_mhz_does_its_work_in_the_gaps_of_a_bit(strip: str, cycles: BitCycles, tolerance: float) -> None:
    assert choose_bit_cycles(find(Strip, strip).timing, 8e6, tolerance) == cycles


def test_what_has_no_gap_for_the_work_is_not_promised() -> None:
    assert tight_last_bit(BitCycles(3, 7, 10)) == (("down",), ("borrow", "load"), ())
    assert tight_last_bit(BitCycles(3, 7, 9)) is None  # no time for the jump
    assert tight_last_bit(BitCycles(2, 4, 10)) is not None
    assert tight_last_bit(BitCycles(2, 4, 8)) is None
    assert tight_last_bit(BitCycles(9, 19, 30)) is None  # the jump wouldn't reach


@pytest.mark.parametrize("pin", ["PH3", "PL0"])
def test_a_pin_out_of_reach_of_a_bits_two_edges_is_refused(pin: str, tmp_path: Path) -> None:
    show = build_show((20,), pins=(pin,), board_name="m2560-16mhz-crystal")
    circuit = show.layout.circuit
    board = dataclasses.replace(circuit.board, pins=(*circuit.board.pins, pin))
    layout = dataclasses.replace(show.layout, circuit=dataclasses.replace(circuit, board=board))
    with pytest.raises(MakerError, match="FIRMWARE-005"):
        write_firmware(dataclasses.replace(show, layout=layout), tmp_path)


@pytest.mark.parametrize(
    ("board", "low", "high", "extended"),
    [
        # from memory of the datasheets' fuse tables: JTAGEN off, brown-out at 4.3 V, on the 32U4 HWBE off
        ("m2560-16mhz-crystal", 0xDF, 0xD9, 0xFC),
        ("m32u4-16mhz-resonator", 0xDF, 0xD9, 0xF8),
        ("m328p-8mhz-3v3-crystal", 0xDF, 0xD9, 0xFD),
    ],
)
def test_fuses_are_the_chips(board: str, low: int, high: int, extended: int, tmp_path: Path) -> None:
    fuses = bench_of(board, "ws2812b-60", tmp_path).source.fuses
    assert (fuses.low, fuses.high, fuses.extended) == (low, high, extended)


def test_the_fuse_that_calls_the_boot_loader_by_a_pin_is_told(tmp_path: Path) -> None:
    told = {
        board: bench_of(board, "ws2812b-60", tmp_path / board).source.fuses.extended_meaning
        for board in ("m32u4-16mhz-resonator", "m2560-16mhz-crystal")
    }
    assert told["m32u4-16mhz-resonator"].endswith("; PE2 no longer calls the boot loader")
    assert "PE2" not in told["m2560-16mhz-crystal"]
