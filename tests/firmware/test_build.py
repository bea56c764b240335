"""The built file: the same every time, sized as it is, and built by any compiler."""

from __future__ import annotations

import dataclasses
import hashlib
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from lampwright.firmware import (
    Compiler,
    FirmwareSource,
    PathCompiler,
    RamSymbol,
    WasiCompiler,
    WheelCompiler,
    build,
    write_firmware,
)
from lampwright.show.memory import BYTES_PER_PIXEL, FIXED_BYTES
from lampwright.show.model import CircuitShow
from lampwright.units.errors import MakerError

ShowOf = Callable[..., CircuitShow]


@pytest.fixture
def own(source: FirmwareSource, tmp_path: Path) -> FirmwareSource:
    """Return a copy of the written sources that a test may change."""
    shutil.copytree(source.folder, tmp_path / "own", ignore=shutil.ignore_patterns("build"))
    return dataclasses.replace(source, folder=tmp_path / "own")


@pytest.mark.parametrize("compiler", [WasiCompiler, WheelCompiler, PathCompiler])
def test_every_compiler_builds_without_a_warning(own: FirmwareSource, compiler: Callable[[], Compiler]) -> None:
    built = build(own, compiler())
    assert built.messages == ""
    assert built.image[:2] != b"\xff\xff"


def test_two_builds_are_the_same_to_the_last_byte(own: FirmwareSource, tmp_path: Path) -> None:
    shutil.copytree(own.folder, tmp_path / "elsewhere")
    one, other = build(own), build(dataclasses.replace(own, folder=tmp_path / "elsewhere"))
    assert one.hex_file.read_bytes() == other.hex_file.read_bytes()
    assert one.sha256 == other.sha256 == hashlib.sha256(one.hex_file.read_bytes()).hexdigest()


def test_the_hex_file_says_what_objcopy_says_of_the_program(own: FirmwareSource, tmp_path: Path) -> None:
    built = build(own)
    subprocess.run(["avr-objcopy", "-O", "binary", str(built.elf), str(tmp_path / "flash.bin")], check=True)
    assert built.image == (tmp_path / "flash.bin").read_bytes()
    assert built.flash_used == len(built.image)


def test_sizes_are_those_of_the_size_program(own: FirmwareSource) -> None:
    built = build(own)
    # GNU binutils "size", Berkeley format: text, data, bss (which counts .noinit too)
    said = subprocess.run(["avr-size", str(built.elf)], check=True, capture_output=True, text=True).stdout
    text, data, bss = (int(number) for number in said.splitlines()[1].split()[:3])
    assert (built.flash_used, built.ram_used) == (text + data, data + bss)


def test_the_ram_map_names_the_frame_buffer_and_the_kept_clock(own: FirmwareSource) -> None:
    built = build(own)
    names = {symbol.name: symbol for symbol in built.ram_map}
    assert names["frame"] == RamSymbol("frame", names["frame"].address, 27 * 3, ".bss")
    assert (names["kept"].size, names["kept"].section) == (16, ".noinit")
    assert built.ram_used == sum(symbol.size for symbol in built.ram_map)
    record = built.record.read_text()
    assert built.sha256 in record
    for symbol in built.ram_map:
        assert re.search(rf"{symbol.address:#08x} +{symbol.size}  {symbol.name} ", record)


@pytest.mark.parametrize("compiler", [WasiCompiler, WheelCompiler, PathCompiler])
def test_variables_take_no_more_than_the_check_before_allows(
    own: FirmwareSource, compiler: Callable[[], Compiler]
) -> None:
    assert build(own, compiler()).ram_used <= BYTES_PER_PIXEL * own.n_pixel + FIXED_BYTES


def test_make_in_the_folder_builds_the_same_file_as_the_systems_compiler(own: FirmwareSource) -> None:
    built = build(own, PathCompiler())
    before = built.hex_file.read_bytes()
    shutil.rmtree(own.folder / "build")
    subprocess.run(["make"], cwd=own.folder, check=True, capture_output=True)
    assert (own.folder / "build" / "firmware.hex").read_bytes() == before


def test_a_source_changed_by_hand_is_built_as_changed(own: FirmwareSource) -> None:
    before = build(own)
    header = own.folder / "show.h"
    header.write_text(header.read_text().replace("standby_frames = 40", "standby_frames = 41"))
    assert build(own).sha256 != before.sha256


def test_a_broken_source_is_said_with_its_line(own: FirmwareSource) -> None:
    header = own.folder / "show.h"
    header.write_text(header.read_text().replace("frame_ms = 25;", "frame_ms = 25"))
    line = next(n for n, text in enumerate(header.read_text().splitlines(), 1) if "frame_ms = 25" in text)
    with pytest.raises(MakerError) as caught:
        build(own)
    found = str(caught.value).splitlines()[1]
    assert str(caught.value) == (
        'error FIRMWARE-008: the sources of circuit "arch 1" don\'t compile\n'
        f"{found}\n"
        "allowed: sources as they were written, or changed so that they compile\n"
        f"do:      put it right in {own.folder}, or write the sources anew   (lampwright explain FIRMWARE-008)"
    )
    assert found.startswith(f"found:   show.h:{line + 3}:")
    assert "expected ',' or ';'" in found


def test_a_program_larger_than_the_flash_is_refused(show_of: ShowOf, tmp_path: Path) -> None:
    source = write_firmware(show_of(flash=2048), tmp_path / "small")
    with pytest.raises(MakerError) as caught:
        build(source)
    size = len(build(dataclasses.replace(source, board=show_of().layout.circuit.board)).image)
    assert str(caught.value) == (
        "error FIRMWARE-007: the firmware of circuit \"arch 1\" doesn't fit its chip's flash\n"
        f"found:   {size} bytes\n"
        'allowed: 2048 bytes on board "m328p-16mhz-crystal"\n'
        "do:      use fewer different looks, or the same settings in more of the cues"
        "   (lampwright explain FIRMWARE-007)"
    )


@pytest.mark.parametrize(
    ("compiler", "found"),
    [
        (WasiCompiler, "more than the chip has"),
        (WheelCompiler, r"\d{5} bytes"),
        (PathCompiler, "more than the chip has"),
    ],
)
def test_looks_that_outgrow_the_flash_are_refused_and_leave_no_file_to_flash(
    own: FirmwareSource, compiler: Callable[[], Compiler], found: str
) -> None:
    # two tables of 20,000 bytes, each within what the language allows
    numbers = ", ".join(["1"] * 10000)
    tables = "".join(f"static const uint16_t filler_{n}[10000] PROGMEM = {{{numbers}}};\n" for n in (1, 2))
    looks = own.folder / "looks.h"
    looks.write_text(looks.read_text() + tables)
    show = own.folder / "show.cpp"
    reads = "".join(f"    frame[{n}] = pgm_read_word(&filler_{n}[number % 10000]);\n" for n in (1, 2))
    show.write_text(show.read_text().replace("    limit();\n}", reads + "    limit();\n}"))
    with pytest.raises(MakerError) as caught:
        build(own, compiler())
    assert list((own.folder / "build").iterdir()) == []
    assert caught.value.problems[0].code == "FIRMWARE-007"
    assert re.fullmatch(found, caught.value.problems[0].found)
    assert caught.value.problems[0].allowed == '32768 bytes on board "m328p-16mhz-crystal"'


def test_variables_added_by_hand_may_not_eat_the_stack(own: FirmwareSource) -> None:
    clock = own.folder / "clock.cpp"
    clock.write_text(clock.read_text() + "\nvolatile uint8_t eaten[1600] __attribute__((used));\n")
    main = own.folder / "main.cpp"
    text = main.read_text().replace("int main()\n{", "extern volatile uint8_t eaten[];\nint main()\n{ eaten[0] = 1;")
    main.write_text(text)
    with pytest.raises(MakerError) as caught:
        build(own)
    used = 1600 + 81 + 21  # the pixels' and the firmware's own, see the test above
    fitting = (2048 - 400 - (used - 81)) // 3
    assert str(caught.value) == (
        'error FIRMWARE-001: circuit "arch 1" needs more RAM than its board has\n'
        f"found:   {used + 400} bytes: 27 pixels x 3, {used - 81} for variables, 400 left free for the stack\n"
        f'allowed: 2048 bytes on board "m328p-16mhz-crystal", which is {fitting} pixels\n'
        f"do:      split the circuit so that no board drives more than {fitting} pixels, "
        "or choose a board with more RAM   (lampwright explain FIRMWARE-001)"
    )
