"""The sources: refused before anything is written when the board can't do it, else whole and readable."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from lampwright.firmware import FirmwareSource, write_firmware
from lampwright.firmware.files import write_text
from lampwright.piece.model import Ending
from lampwright.show.model import CircuitShow
from lampwright.units.errors import MakerError

ShowOf = Callable[..., CircuitShow]
FILES = {
    "FLASHING.md",
    "Makefile",
    "clock.cpp",
    "clock.h",
    "arithmetic.h",
    "looks.h",
    "main.cpp",
    "sender.h",
    "show.cpp",
    "show.h",
}


def refused(show: CircuitShow, folder: Path) -> str:
    """Return the message with which a show is refused; nothing may have been written."""
    with pytest.raises(MakerError) as caught:
        write_firmware(show, folder)
    assert not folder.exists()
    return str(caught.value)


def test_the_folder_holds_all_sources_and_nothing_else(source: FirmwareSource) -> None:
    assert {path.name for path in source.folder.iterdir() if path.is_file()} == FILES


def test_no_line_is_too_long_to_read_and_no_blank_is_left_open(source: FirmwareSource) -> None:
    for name in FILES - {"Makefile", "FLASHING.md", "looks.h", "arithmetic.h"}:
        text = (source.folder / name).read_text()
        assert max(len(line) for line in text.splitlines()) <= 120, name
        assert "@{" not in text


def test_writing_twice_gives_the_same_text(show_of: ShowOf, tmp_path: Path) -> None:
    for folder in ("one", "two"):
        write_firmware(show_of((20, 7)), tmp_path / folder)
    for name in FILES:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


def test_cues_with_the_same_look_share_one_function(show_of: ShowOf, tmp_path: Path) -> None:
    red = "colour = light(1, 0, 0)"
    write_firmware(show_of(cues=((red, 10, 0), ("colour = light(0, 1, 0)", 10, 5), (red, 10, 5))), tmp_path)
    assert len(re.findall(r"static void look_\w+\(uint32_t t\)", (tmp_path / "looks.h").read_text())) == 2
    rows = re.findall(r"\{(look_\w+), (\d+), (\d+), (\d+)\}", (tmp_path / "show.cpp").read_text())
    assert rows == [
        ("look_test", "0", "10", "0"),
        ("look_test_2", "10", "10", "5"),
        ("look_test", "20", "10", "5"),
    ]


@pytest.mark.parametrize("ending", list(Ending))
def test_the_ending_is_the_shows(show_of: ShowOf, tmp_path: Path, ending: Ending) -> None:
    write_firmware(show_of(ending=ending), tmp_path)
    assert f"ending = Ending::{ending.value};" in (tmp_path / "show.h").read_text()


def test_five_metres_at_144_per_metre_are_refused_with_ram_needed_and_ram_there(
    show_of: ShowOf, tmp_path: Path
) -> None:
    message = refused(show_of((720,), strip="ws2812b-144"), tmp_path / "x")
    # 3 × 720 = 2160; (2048 - 32 - 400) / 3 = 538.7
    assert message == (
        'error FIRMWARE-001: circuit "arch 1" needs more RAM than its board has\n'
        "found:   2592 bytes: 720 pixels x 3, 32 for variables, 400 left free for the stack\n"
        'allowed: 2048 bytes on board "m328p-16mhz-crystal", which is 538 pixels\n'
        "do:      split the circuit so that no board drives more than 538 pixels, "
        "or choose a board with more RAM   (lampwright explain FIRMWARE-001)"
    )


def test_538_pixels_fit(show_of: ShowOf, tmp_path: Path) -> None:
    assert write_firmware(show_of((538,)), tmp_path).n_pixel == 538


def test_an_unknown_chip_is_refused(show_of: ShowOf, tmp_path: Path) -> None:
    assert refused(show_of(chip="chip-x"), tmp_path / "x") == (
        'error FIRMWARE-004: no firmware can be written for the chip of circuit "arch 1"\n'
        'found:   "chip-x" on board "m328p-16mhz-crystal"\n'
        'allowed: "atmega328p", "atmega2560", "atmega32u4"\n'
        "do:      choose a board with one of these chips   (lampwright explain FIRMWARE-004)"
    )


def test_a_chip_clocked_too_fast_for_its_supply_is_refused(show_of: ShowOf, tmp_path: Path) -> None:
    assert refused(show_of(supply=3.3), tmp_path / "x") == (
        'error FIRMWARE-004: the board of circuit "arch 1" is clocked faster than its supply allows\n'
        "found:   16 MHz at 3.3 V\n"
        "allowed: at least 3.78 V at this clock\n"
        "do:      choose a slower clock or a higher supply   (lampwright explain FIRMWARE-004)"
    )


def test_the_reset_pin_cannot_carry_data(show_of: ShowOf, tmp_path: Path) -> None:
    assert refused(show_of(pins=("PC6",)), tmp_path / "x") == (
        'error FIRMWARE-005: run "run 1" of circuit "arch 1" can\'t use its pin\n'
        'found:   "PC6"\n'
        "allowed: PB0, PB1, PB2, PB3, PB4, PB5, PC0, PC1, PC2, PC3, PC4, PC5, PD2, PD3, PD4, PD5, PD6, PD7\n"
        "do:      choose one of these pins   (lampwright explain FIRMWARE-005)"
    )


def test_two_runs_cannot_share_a_pin(show_of: ShowOf, tmp_path: Path) -> None:
    assert refused(show_of((5, 5), pins=("PD6", "PD6")), tmp_path / "x") == (
        'error FIRMWARE-005: two runs of circuit "arch 1" share a pin\n'
        'found:   "PD6" for "run 1" and "run 2"\n'
        "allowed: a pin of its own for each run\n"
        'do:      give "run 2" another pin, or join the two runs into one   (lampwright explain FIRMWARE-005)'
    )


def test_a_brown_out_level_below_what_the_clock_needs_is_refused(show_of: ShowOf, tmp_path: Path) -> None:
    assert refused(show_of(brown_out=2.7), tmp_path / "x") == (
        'error FIRMWARE-006: the brown-out level of circuit "arch 1" doesn\'t protect its chip\n'
        "found:   2.7 V\n"
        "allowed: 4.3 V (at 16 MHz the chip needs 3.78 V)\n"
        'do:      write brown_out = "4.3 V"   (lampwright explain FIRMWARE-006)'
    )


def test_times_beyond_the_counters_are_refused_all_at_once(show_of: ShowOf, tmp_path: Path) -> None:
    show = show_of()
    long_fade = dataclasses.replace(show.cues[1], fade=1 << 25)
    show = dataclasses.replace(show, standby_frames=1 << 28, cues=(show.cues[0], long_fade))
    assert refused(show, tmp_path / "x") == (
        'error FIRMWARE-011: the standby of circuit "arch 1" is longer than the chip can count\n'
        "found:   268435456 frames of 25 ms\n"
        "allowed: 171796291 frames\n"
        "do:      make it shorter, or the frame period longer   (lampwright explain FIRMWARE-011)\n"
        "\n"
        'error FIRMWARE-011: the fade of cue 2 of circuit "arch 1" is longer than the chip can count\n'
        "found:   33554432 frames of 25 ms\n"
        "allowed: 16777216 frames\n"
        "do:      make it shorter, or the frame period longer   (lampwright explain FIRMWARE-011)"
    )


def test_a_folder_that_cannot_be_made_is_said(show_of: ShowOf, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file, not a folder")
    with pytest.raises(MakerError) as caught:
        write_firmware(show_of(), tmp_path / "taken")
    assert str(caught.value) == (
        "error FIRMWARE-010: the firmware can't be written\n"
        f"found:   {tmp_path / 'taken' / 'show.h'}: File exists\n"
        "allowed: a folder that you may write in\n"
        "do:      choose another output folder, or change its permissions   (lampwright explain FIRMWARE-010)"
    )


def test_a_clock_that_no_brown_out_level_guards_is_told_in_flashing(show_of: ShowOf, tmp_path: Path) -> None:
    write_firmware(show_of(clock=20e6), tmp_path)
    text = (tmp_path / "FLASHING.md").read_text()
    assert "at 4.3 V, the highest there is: from 4.50 V down to 4.1 V the chip is not protected" in text


def test_flashing_tells_the_fuses_and_to_disconnect_the_pack(source: FirmwareSource) -> None:
    text = (source.folder / "FLASHING.md").read_text()
    assert "-U lfuse:w:0xDF:m -U hfuse:w:0xD9:m -U efuse:w:0xFC:m" in text
    assert "**Disconnect the pack.**" in text
    assert "**Disconnect the strip, its 5 V and its data line.**" in text


def test_an_interrupted_writing_leaves_no_half_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def write_half(path: Path, content: bytes) -> None:
        with path.open("wb") as file:
            file.write(content[: len(content) // 2])
        raise KeyboardInterrupt

    monkeypatch.setattr(Path, "write_bytes", write_half)
    with pytest.raises(KeyboardInterrupt):
        write_text(tmp_path / "made" / "show.h", "the whole text")
    assert list((tmp_path / "made").iterdir()) == []
